// Every chart's title and the other sentences with numbers, held against the tables that the commands wrote: worked out here anew
// from the files, in a way of its own. A chart whose title no rule knows is a fault.
import { existsSync, readFileSync } from "node:fs";
import { parseCsv } from "./page_checks.mjs";

const words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
const said = (n) => words[n] ?? String(n);
const value = (text) => (text === "" || text === undefined ? NaN : Number(text.replace(/\u2212/g, "-").replace(/,/g, "")));
const unit = { m: 0.001, km: 1 };

export class Tables {
  constructor(folder) {
    this.folder = folder;
  }

  /** Rows of a sheet, or of a file of hearwood/tables, as objects; none where there is no such file. */
  rows(name) {
    const path = [`${this.folder}/${name}`, `${this.folder}/hearwood/tables/${name}`].find(existsSync);
    if (!path) return [];
    const [header, ...rows] = parseCsv(readFileSync(path, "utf8"));
    const plain = (cell) => cell.replace(/^'/, "");
    return rows.map((row) => Object.fromEntries(header.map((name, i) => [name, plain(row[i] ?? "")])));
  }
}

/** Shown to three significant digits: within half of the last one. */
const about = (told, true_) => Math.abs(value(told) - true_) <= 0.0051 * Math.abs(true_) + 1e-9;

/** What the page shows: name of each chart (as it is saved), title, subtitle, drawn texts. */
export const seenOf = (page) => page.evaluate(() => ({
  figures: [...document.querySelectorAll("[id^=draw-] figure")].map((figure) => ({ place: figure.closest("[id^=draw-]").id.slice(5), title: figure.querySelector("h3").textContent,
    subtitle: figure.querySelector(".subtitle").textContent, nth: [...figure.closest("[id^=draw-]").querySelectorAll("figure")].indexOf(figure) })),
  headings: [...document.querySelectorAll("h3")].map((h) => h.textContent),
  text: document.body.innerText.replace(/\s+/g, " "),
  data: JSON.parse(document.getElementById("page-data").textContent),
}));

/** Great circle, haversine: the page's own map is flat. */
function kilometres(p, q) {
  const rad = Math.PI / 180, s = (x) => Math.sin(x / 2) ** 2;
  const h = s((q.lat - p.lat) * rad) + Math.cos(p.lat * rad) * Math.cos(q.lat * rad) * s((q.lon - p.lon) * rad);
  return 2 * 6371.0088 * Math.asin(Math.sqrt(h));
}

const rules = {
  /** Distances of all pairs of sites. */
  map({ title }, { tables }, fault) {
    const sites = tables.rows("sites.csv").map((row) => ({ name: row.site, lat: value(row.latitude), lon: value(row.longitude) }));
    let least = Infinity;
    sites.forEach((p, i) => sites.slice(i + 1).forEach((q) => (least = Math.min(least, kilometres(p, q)))));
    if (sites.length < 2) return fault(/One site/.test(title), title);
    const told = /are ([\d.,]+) (km|m) apart$/.exec(title);
    fault(told && (about(told[1], least / unit[told[2]]) || Math.abs(value(told[1]) * unit[told[2]] - least) < 0.002 * least), `${title}; the least distance is ${least} km`);
  },

  /** Hours from coverage.csv; what took most from coverage.csv and segments.csv. */
  calendar({ title, subtitle }, { tables }, fault) {
    const coverage = tables.rows("coverage.csv"), lost = new Map();
    const add = (word, minutes) => minutes > 0 && lost.set(word, (lost.get(word) ?? 0) + minutes / 60);
    for (const row of coverage) add("gaps in the recording", Math.max(0, value(row.expected) - value(row.present)));
    const last = (text) => text.split(";").at(-1);
    const called = { rain: "rain", dead: "a dead microphone", wind: "wind", engine: "engines", silenced: "silenced stretches", decision: "what a person left out", short: "segments too short" };
    for (const row of tables.rows("segments.csv"))
      if (row.reasons && !/outside/.test(row.reasons)) add(called[last(row.reasons)] ?? last(row.reasons), value(row.duration_s) / 60);
    const [most] = [...lost].filter(([, hours]) => hours >= 0.01 / 60).sort((p, q) => q[1] - p[1]);
    const told = /; most was lost to (.+), ([\d.,]+) (h|min|s)$/.exec(title);
    if (told && told[1] !== "what could not be read") fault(most && told[1] === most[0] && (told[3] === "s" ? Math.abs(value(told[2]) - 3600 * most[1]) <= 0.6 : about(told[2], told[3] === "h" ? most[1] : 60 * most[1])), `${title}; ${JSON.stringify([...lost])}`);
    const dates = coverage.map((row) => row.date).sort();
    if (dates.length) fault(subtitle.includes(`from ${dates[0]} to ${dates.at(-1)}`), `${subtitle}; ${dates[0]} to ${dates.at(-1)}`);
  },

  /** Means over the sites of a class of what path_loss.csv has at 4 kHz, at the distance with most losses. */
  trial({ title, subtitle }, { tables, data }, fault) {
    const rows = tables.rows("path_loss.csv").filter((row) => row.loss_db !== "" && value(row.distance_m) > 2), role = new Map(data.sites.map((site) => [site.name, site.role]));
    const told = /^At 4 kHz the stand takes off (\S+) dB at \S+ and (\S+) dB at \S+ sites$/.exec(title), metres = Number(/from ([\d.]+) m against 2 m/.exec(subtitle)?.[1]);
    const count = (m) => rows.filter((row) => value(row.distance_m) === m).length;
    fault(rows.every((row) => count(value(row.distance_m)) <= count(metres)), subtitle);
    const mean = (of) => {
      const sites = new Map();
      for (const row of rows) if (value(row.distance_m) === metres && value(row.band_hz) === 4000 && role.get(row.site) === of) sites.set(row.site, [...(sites.get(row.site) ?? []), value(row.loss_db)]);
      const means = [...sites.values()].map((losses) => losses.reduce((p, q) => p + q, 0) / losses.length);
      return means.reduce((p, q) => p + q, 0) / means.length;
    };
    fault(told && about(told[1], mean("a")) && about(told[2], mean("b")), `${title}; ${mean("a")} and ${mean("b")}`);
  },

  /** Flags counted in segments.csv. */
  screens({ title }, { tables }, fault) {
    const counts = new Map();
    for (const row of tables.rows("segments.csv")) if (row.complete === "1") for (const reason of row.flags.split(";").filter(Boolean)) counts.set(reason, (counts.get(reason) ?? 0) + 1);
    const told = /^Flagged most often: (\S+), on ([\d,]+) segment/.exec(title), most = Math.max(...counts.values());
    if (counts.size) fault(told && value(told[2]) === most && counts.get(told[1]) === most, `${title}; ${JSON.stringify([...counts])}`);
  },

  /** The largest of the rank correlations of covariates.csv. */
  covariates({ title }, { tables, data }, fault) {
    const { index, window } = data.primary;
    const rows = tables.rows("covariates.csv").filter((row) => row.index === index && row.window === window && row.rho !== "" && data.sites.some((s) => typeof s.numbers[row.column] === "number"));
    const most = rows.reduce((p, q) => (Math.abs(value(q.rho)) > Math.abs(value(p.rho)) ? q : p));
    fault(title.startsWith(`Of ${said(rows.length)} numeric column`) && Math.abs(value(/rho (\S+)\)/.exec(title)?.[1]) - value(most.rho)) <= 0.00501, `${title}; ${most.column} ${most.rho}`);
    fault(title.includes(inWords(most.column)), `${title}; ${most.column}`);
  },

  /** Widths of effort.csv: with half of the dates and with all. */
  effort({ title }, { tables, data }, fault) {
    const rows = tables.rows("effort.csv").filter((row) => row.index === data.primary.index && row.window === data.primary.window && Number.isFinite(value(row.width_median)));
    const told = /^With (\S+) dates? a site the interval would be (\S+) wide; with today's (\d+) it is (\S+)$/.exec(title);
    const row = (n) => rows.find((one) => said(value(one.dates)) === n || one.dates === n);
    fault(told && about(told[2], value(row(told[1])?.width_median)) && about(told[4], value(row(told[3])?.width_median)) && row(told[3]) === rows.at(-1), `${title}; ${rows.map((r) => `${r.dates} ${r.width_median}`)}`);
  },

  /** The hour in which most sites are highest, from hours.csv; class means around sunrise from the page's own table, which no file has. */
  day({ title, nth }, { tables, data }, fault) {
    if (nth === 0) return; // held by wordsHold
    const { index } = data.primary;
    if (nth === 2) {
      const tops = new Map();
      for (const row of tables.rows("hours.csv")) if (row[index] !== "" && !(tops.get(row.site)?.[1] > value(row[index]))) if (!tops.has(row.site) || value(row[index]) > tops.get(row.site)[1]) tops.set(row.site, [row.hour, value(row[index])]);
      const told = /^The hour from (\d\d):00 is the highest(?: at (\d+) of (\d+) sites)?$/.exec(title), hours = [...tops.values()].map(([hour]) => Number(hour));
      const count = hours.filter((hour) => hour === Number(told?.[1])).length;
      return fault(told && (told[2] === undefined ? tops.size === 1 : count === Number(told[2]) && tops.size === Number(told[3])) &&
        [...new Set(hours)].every((hour) => hours.filter((h) => h === hour).length <= count), `${title}; ${hours}`);
    }
    const { columns, rows } = data.tables.sunrise, at = (row, name) => row[columns.indexOf(name)];
    const highest = [data.survey.a, data.survey.b].map((stand) => {
      const own = rows.filter((row) => at(row, "stand") === stand && at(row, index) !== null), sites = new Set(own.map((row) => at(row, "site"))).size;
      const steps = new Map();
      for (const row of own) steps.set(at(row, "minutes"), [...(steps.get(at(row, "minutes")) ?? []), at(row, index)]);
      return [...steps].filter(([, values]) => values.length >= sites / 2).map(([m, values]) => [m, values.reduce((s, x) => s + x, 0) / values.length])
        .reduce((p, q) => (q[1] > p[1] + 1e-12 ? q : p), [NaN, -Infinity])[0];
    });
    const when = (m) => (m === 0 ? "at sunrise" : `${Math.abs(m)} min ${m < 0 ? "before" : "after"} sunrise`);
    if (highest.every(Number.isFinite)) fault(title.includes(when(highest[0])) && title.includes(when(highest[1])), `${title}; ${highest}`);
  },

  // The titles of these are held by wordsHold in page_checks.mjs.
  answer() {}, pitch() {}, rivals() {}, robustness() {}, effects() {},
};

/** Columns of the sheets as the page must say them; the test's own list, not the program's. */
const names = { elevation_m: "elevation", root_mat_cm: "root mat", organic_depth_cm: "organic depth", canopy_height_m: "canopy height", trail_m: "trail distance", gain_db: "recorder gain",
  height_m: "recorder height", l90_dbfs: "level of the quiet minutes" };
export const inWords = (name) => names[name.replace(/^deployments\./, "")] ?? name;

/** A list of faults. */
export async function titlesHold(page, folder) {
  const seen = await seenOf(page), tables = new Tables(folder), faults = [];
  for (const figure of seen.figures) {
    const rule = rules[figure.place];
    if (!rule) faults.push(`no rule holds the title of '${figure.place}': ${figure.title}`);
    else rule(figure, { tables, data: seen.data }, (good, told) => good || faults.push(`${figure.place}: ${told}`));
  }
  for (const heading of seen.headings)
    if (/\d/.test(heading) && !seen.figures.some(({ title }) => title === heading)) faults.push(`no rule holds the heading '${heading}'`);
  return [...faults, ...sentencesHold(seen, tables), ...await rawNames(page)];
}

/** Minutes by site and by what took them, from coverage.csv and segments.csv. */
function lostAt(tables) {
  const lost = new Map(), add = (site, word, minutes) => minutes > 0 && lost.set(`${site} ${word}`, (lost.get(`${site} ${word}`) ?? 0) + minutes);
  const rest = new Map();
  for (const row of tables.rows("coverage.csv")) {
    add(row.site, "missing", value(row.expected) - value(row.present));
    rest.set(row.site, (rest.get(row.site) ?? 0) + value(row.present) - value(row.usable));
  }
  const channels = new Map(tables.rows("recordings.csv").map((row) => [row.file, Number(row.channels)]));
  const called = { same_sound: "same sound", decision: "left out" };
  for (const row of tables.rows("segments.csv"))
    if (row.reasons && !/outside/.test(row.reasons)) {
      const last = row.reasons.split(";").at(-1), minutes = value(row.duration_s) / 60 / (channels.get(row.file) || 1);
      add(row.site, called[last] ?? last, minutes);
      rest.set(row.site, rest.get(row.site) - minutes);
    }
  for (const [site, minutes] of rest) if (minutes > 0.02) add(site, "unread", minutes);
  return lost;
}

/** What is drawn stands to scale: strips name what the tables lost, rings reach as far as the scale bar says, layers are as deep as the sheet says. */
export async function drawnHolds(page, folder) {
  const tables = new Tables(folder), faults = [], sites = tables.rows("sites.csv");
  const seen = await page.evaluate(() => {
    const texts = [...document.querySelectorAll("#draw-calendar svg text")].map((text) => text.textContent);
    const places = document.querySelector("#draw-map svg"), all = (what) => [...places.querySelectorAll(what)];
    return { texts, reach: all("circle.reach").map((circle) => Number(circle.getAttribute("r"))), perCm: all("rect.organic, rect.root").map((rect) => Number(rect.getAttribute("height"))),
      bars: all("path.scale-bar").map((bar) => [Number(/h([\d.]+)$/.exec(bar.getAttribute("d"))[1]), bar.nextElementSibling.textContent]),
      listening: JSON.parse(document.getElementById("page-data").textContent).survey.listening_m };
  });
  const lost = lostAt(tables);
  seen.texts.forEach((text, i) => {
    const site = sites.find((row) => text.replace(/^\S /, "") === row.site);
    if (!site) return;
    const told = seen.texts[i + 1].replace(/^nothing lost$/, "").split(", ").filter(Boolean).filter((one) => !one.includes("\u2026"));
    for (const one of told) {
      const [, word, number, per] = /^(.+) ([\d.,]+) (s|min|h)$/.exec(one) ?? [];
      const minutes = lost.get(`${site.site} ${word}`) ?? NaN;
      if (!(Math.abs(value(number) * { s: 1 / 60, min: 1, h: 60 }[per] - minutes) <= 0.02 + 0.006 * minutes)) faults.push(`${site.site}: ${one}, the tables lost ${minutes} min`);
    }
  });
  const perBar = seen.bars.map(([px, words]) => px / (value(words.split(" ")[0]) * unit[words.split(" ")[1]]));
  for (const r of new Set(seen.reach.map((x) => x.toFixed(3)))) if (!perBar.some((px) => Math.abs(px * seen.listening / 1000 - r) < 0.02 * r + 0.01)) faults.push(`a ring of ${r} px fits no scale bar: ${perBar}`);
  const depths = sites.flatMap((row) => [row.organic_depth_cm, row.root_mat_cm]).filter((text) => text !== undefined && text !== "").map(Number).sort((p, q) => p - q);
  const drawn = [...seen.perCm].sort((p, q) => p - q), scale = drawn.at(-1) / depths.at(-1);
  if (drawn.length !== depths.length || drawn.some((px, i) => Math.abs(px - Math.max(0.5, depths[i] * scale)) > 0.01)) faults.push(`layers: ${drawn} px for ${depths} cm`);
  return faults;
}

/** Sentences with numbers beside the charts: segments and hours, recordings that are damaged, hours usable. */
function sentencesHold(seen, tables) {
  const faults = [], segments = tables.rows("segments.csv"), coverage = tables.rows("coverage.csv");
  const fault = (good, told) => good || faults.push(told);
  const effort = /([\d,]+) of ([\d,]+) segments enter the averages\./.exec(seen.text);
  if (segments.length) {
    const kept = segments.filter((row) => row.kept === "1" && row.complete === "1").length, complete = segments.length;
    fault(effort && value(effort[1]) === kept && value(effort[2]) === complete, `${effort?.[0]}: ${kept} of ${complete}`);
  }
  const sum = (name) => coverage.reduce((total, row) => total + value(row[name]), 0) / 60;
  const due = /Of ([\d.,]+) hours that should have been recorded ([\d.,]+) were, and ([\d.,]+) can be used/.exec(seen.text);
  if (coverage.length && sum("expected") > 0)
    fault(due && ["expected", "present", "usable"].every((name, i) => about(due[i + 1], sum(name))), `${due?.[0]}: ${["expected", "present", "usable"].map(sum)}`);
  const chip = /Hours usable\? ([\d.,]+) of ([\d.,]+) h that were due, (\d+) %/.exec(seen.text);
  if (coverage.length && sum("expected") > 0)
    fault(chip && about(chip[1], sum("usable")) && about(chip[2], sum("expected")) && Math.abs(Number(chip[3]) - (100 * sum("usable")) / sum("expected")) <= 0.501, `${chip?.[0]}: ${sum("usable")} of ${sum("expected")}`);
  const recordings = tables.rows("recordings.csv"), damaged = /([\d,]+) of ([\d,]+) recordings (is|are) damaged or unreadable/.exec(seen.text);
  if (damaged) fault(value(damaged[2]) === recordings.length && value(damaged[1]) === recordings.filter((row) => !/^(measured|known|outside deployment)$/.test(row.state)).length, `${damaged[0]}: ${recordings.length}`);
  return faults;
}

/** Names of columns stand in tables, settings and the list of columns, and with the word "column" before them; nowhere else. */
async function rawNames(page) {
  const found = await page.evaluate(() => {
    const hidden = "details.behind, pre, dl, script, style, [data-copy], .whose, .clips, option, select";
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), list = [];
    while (walker.nextNode()) {
      const node = walker.currentNode;
      if (node.parentElement.closest(hidden)) continue;
      for (const [name, before] of [...node.textContent.matchAll(/(column |\[stands\] |deployment |\()?\b[a-z][a-z0-9]*_[a-z0-9_]+\b(?!\.csv)/g)].map((m) => [m[0], m[1]]))
        if (!before) list.push(`${name} in '${node.textContent.slice(0, 90)}'`);
    }
    return list;
  });
  return found.map((name) => `a raw name: ${name}`);
}
