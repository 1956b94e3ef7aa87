// How far sound carries: what each stand takes off the trial's sound beyond spreading, by octave band.
import * as Plot from "@observablehq/plot";
import { putFigure, records } from "./dom.js";
import { lineLabels, lines, nameRoom, placer, plot, roles } from "./marks.js";
import { mean, several, short, sentence } from "./numbers.js";

const kSaid_hz = 4000; // the band that the title tells of

/** The mean over a site's plays from one distance, by band: [{site, role, khz, loss, se, plays}]. */
function meansOf(survey, rows) {
  const groups = new Map();
  for (const row of rows) {
    const key = JSON.stringify([row.site, row.band_hz]);
    groups.set(key, [...(groups.get(key) ?? []), row]);
  }
  return survey.withRole([...groups.values()].map((own) => ({ site: own[0].site, khz: own[0].band_hz / 1000, plays: own.length,
    loss: mean(own.map((row) => row.loss_db)), se: Math.hypot(...own.map((row) => row.se_db)) / own.length })));
}

/** The distance from which most plays were heard; of equal ones the nearest to that of even terms. */
function distanceOf(rows) {
  const counts = new Map();
  for (const row of rows) counts.set(row.distance_m, (counts.get(row.distance_m) ?? 0) + 1);
  return [...counts].sort((p, q) => q[1] - p[1] || Math.abs(p[0] - 30) - Math.abs(q[0] - 30))[0]?.[0];
}

function titleOf(survey, points) {
  const said = roles.map((role) => points.filter((point) => point.role === role && point.khz * 1000 === kSaid_hz).map((point) => point.loss));
  if (said.some((losses) => !losses.length)) return "What the stands take off sound";
  const [a, b] = said.map((losses) => short(mean(losses)));
  return `At ${kSaid_hz / 1000} kHz the stand takes off ${a} dB at ${survey.survey.a} and ${b} dB at ${survey.survey.b} sites`;
}

export function trialChart(place, survey) {
  const all = records(survey.tables.path_loss), far = all.filter((row) => row.distance_m > 2);
  const distance = distanceOf(far.filter((row) => row.loss_db !== null));
  const points = meansOf(survey, far.filter((row) => row.distance_m === distance && row.loss_db !== null));
  const title = titleOf(survey, points), missing = far.filter((row) => row.loss_db === null);
  putFigure(place, {
    name: "trial", title,
    subtitle: `The trial's sound from ${distance} m against 2 m, less what distance alone takes, by octave band (dB); ${survey.n(points)}. ` +
      "Thin lines are sites, thick ones the means of the classes, ribbons one standard error of the mean over sites.",
    alt: `${title}. ${sentence(several(points.length, "loss", "losses"))} at ${distance} m.`,
    draw: (width) => trialPlot(survey, points, width),
    values: (svg) => points.map((point) => ({ group: point.site, x: placer(svg).x(point.khz), y: placer(svg).y(point.loss),
      words: `${point.site}, ${point.khz} kHz: ${short(point.loss)} dB (standard error ${short(point.se)})` })),
    tables: [[survey.tables.path_loss, "plays of the trial"]],
    note: missing.length ? `${sentence(several(missing.length, "loss is", "losses are"))} missing; the table says why.` : undefined,
  }, survey);
}

function trialPlot(survey, points, width) {
  const height = width > 620 ? 260 : 230;
  return plot(Math.min(width, 760), {
    height, marginLeft: 40, marginRight: nameRoom(survey), marginTop: 22, marginBottom: 40,
    x: { type: "point", domain: [...new Set(points.map((point) => point.khz))].sort((p, q) => p - q), label: "kHz", labelAnchor: "center", labelArrow: "none", tickSize: 4, padding: 0.2 },
    y: { label: "dB", labelArrow: "none", ticks: 5, zero: true, nice: true, tickSize: 4 },
    marks: [
      Plot.ruleY([0], { stroke: "var(--ink)", strokeOpacity: 0.4 }),
      ...lines(survey, points, "khz", "loss"),
      ...lineLabels(survey, points, "khz", "loss", height),
    ],
  });
}
