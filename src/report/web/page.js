// Draws the page's charts and tables into the places that the page names.
import { answerChart } from "./chart_answer.js";
import { daySection } from "./chart_day.js";
import { effectsChart } from "./chart_effects.js";
import { hoursChart } from "./chart_hours.js";
import { nextChart } from "./chart_next.js";
import { hearPairs } from "./hear.js";
import { pitchChart } from "./chart_pitch.js";
import { placesChart } from "./chart_places.js";
import { rivalsChart } from "./chart_rivals.js";
import { settingsChart } from "./chart_settings.js";
import { screensChart } from "./chart_screens.js";
import { covariateCharts } from "./chart_sites.js";
import { copyButton, putNothing, tableBehind, unbroken } from "./dom.js";
import { trialChart } from "./chart_trial.js";
import { Survey } from "./survey.js";

const charts = {
  answer: answerChart, pitch: pitchChart, rivals: rivalsChart, trial: trialChart, robustness: settingsChart, day: daySection, effects: effectsChart,
  covariates: covariateCharts, map: placesChart, calendar: hoursChart, screens: screensChart, effort: nextChart,
};

/** One chart that fails must not take the others with it. */
function attempt(draw, place) {
  try {
    draw();
  } catch (error) {
    console.error(error);
    putNothing(place, "This chart could not be drawn; its values are in the tables.");
  }
}

function start() {
  const survey = new Survey(JSON.parse(document.getElementById("page-data").textContent));
  survey.hear = hearPairs(document.getElementById("pairs"), survey);
  const places = Object.entries(charts).map(([name, draw]) => [document.getElementById(`draw-${name}`), draw]).filter(([place]) => place);
  for (const [place] of places) place.wide = place.clientWidth; // all in one layout of the page
  for (const [place, draw] of places) attempt(() => draw(place, survey), place);
  for (const place of document.querySelectorAll("[data-table]")) {
    const table = survey.tables[place.dataset.table];
    if (table) place.append(tableBehind(table, place.dataset.name, survey));
  }
  for (const lead of document.querySelectorAll(".finding > strong, .answer")) lead.replaceChildren(...unbroken(lead.textContent));
  for (const place of document.querySelectorAll("[data-copy]")) place.after(copyButton(place, place.dataset.copy));
  document.documentElement.classList.add("drawn");
}

start();
