// Pairs of sounds: one player for all of them that goes from one side to the other at the same place, and a blind mode in which
// the sides are shuffled, the names hidden, and guesses counted.
import { el } from "./dom.js";
import { several } from "./numbers.js";

const kPlay = "\u25b6\ufe0e Play", kStop = "\u25a0\ufe0e Stop";

/** One sound at a time; `moved(side)` is told where it stands. */
class Player {
  constructor(moved) {
    this.moved = moved;
    this.side = null;
  }

  play(side, from = 0) {
    this.stop();
    this.side = side;
    side.audio.currentTime = from;
    side.audio.ontimeupdate = side.audio.onended = () => this.moved(side);
    side.audio.play().then(() => this.moved(side), () => this.moved(side));
  }

  /** The other side from where this one stands. */
  swap(pair) {
    const now = pair.sides.find((side) => side === this.side);
    const other = now ? pair.sides.find((side) => side !== now) : pair.sides[0];
    this.play(other, now && !now.audio.ended ? now.audio.currentTime : 0);
  }

  stop() {
    const side = this.side;
    if (!side) return;
    side.audio.pause();
    this.side = null;
    this.moved(side);
  }
}

function moved(side) {
  const { audio, line, button } = side, playing = !audio.paused && !audio.ended;
  line.style.left = `${audio.duration ? (100 * audio.currentTime) / audio.duration : 0}%`;
  line.hidden = !playing;
  button.textContent = playing ? kStop : kPlay;
}

function sideOf(element, player) {
  const audio = element.querySelector("audio"), whose = element.querySelector(".whose"), image = element.querySelector("img");
  audio.controls = false;
  const side = { element, audio, whose, image, role: element.classList.contains("a") ? "a" : "b", line: el("i", { class: "at", hidden: true }),
    words: whose.cloneNode(true), seen: image.alt };
  side.button = el("button", { type: "button", class: "key", click: () => (player.side === side && !audio.paused && !audio.ended ? player.stop() : player.play(side)) }, kPlay);
  element.querySelector(".sight").append(side.line);
  element.append(side.button);
  return side;
}

/** The names as they are, or "left" and "right". */
function name(pair, hidden) {
  const order = [...pair.sides].sort((p, q) => p.place - q.place);
  order.forEach((side, i) => {
    const place = i ? "Right" : "Left";
    side.element.parentElement.append(side.element);
    side.whose.classList.toggle("named", !hidden);
    side.whose.replaceChildren(...(hidden ? [el("strong", {}, place)] : [...side.words.cloneNode(true).childNodes]));
    side.image.alt = hidden ? `Spectrogram of the ${place.toLowerCase()} sound` : side.seen;
    side.button.setAttribute("aria-label", `Play or stop ${hidden ? `the ${place.toLowerCase()} sound` : side.seen.replace("Spectrogram, ", "")}, ${pair.title}`);
  });
}

/** Returns {nearest(hour), play(pair)} for the picture of day and pitch; null where there are no pairs. */
export function hearPairs(place, survey) {
  if (!place) return null;
  const player = new Player(moved), { a } = survey.survey;
  const pairs = [...place.querySelectorAll(".pair")].map((element) => {
    const title = element.querySelector("figcaption").textContent;
    const pair = { element, title, hour: Number(element.dataset.hour), sides: [...element.querySelectorAll(".side")].map((side) => sideOf(side, player)) };
    pair.tools = el("div", { class: "tools" }, el("button", { type: "button", class: "key", "aria-label": `The other side from here, ${title}`, click: () => player.swap(pair) }, "The other side from here"));
    pair.element.append(pair.tools);
    pair.sides.forEach((side, i) => (side.place = i));
    name(pair, false);
    return pair;
  });
  const tally = { right: 0, of: 0 }, told = el("p", { class: "readout", "aria-live": "polite" });
  const guess = (pair, i) => {
    const chosen = pair.sides.find((side) => side.place === i), right = chosen.role === "a";
    tally.of++;
    tally.right += right;
    name(pair, false);
    pair.guess.remove();
    told.textContent = `${right ? "Right" : "Wrong"}: ${tally.right} of ${several(tally.of, "guess", "guesses")} so far; by chance half would be.`;
  };
  const setBlind = (blind) => {
    player.stop();
    Object.assign(tally, { right: 0, of: 0 });
    told.textContent = blind ? `Sides are shuffled. Listen, then say which is ${a}.` : "";
    for (const pair of pairs) {
      const turned = blind && Math.random() < 0.5;
      pair.sides.forEach((side, i) => (side.place = turned ? 1 - i : i));
      pair.guess?.remove();
      name(pair, blind);
      if (!blind) continue;
      pair.guess = el("span", { class: "guess" }, ...["Left", "Right"].map((word, i) =>
        el("button", { type: "button", class: "key", "aria-label": `${word} is ${a}, ${pair.title}`, click: () => guess(pair, i) }, `${word} is ${a}`)));
      pair.tools.append(pair.guess);
    }
  };
  const box = el("input", { type: "checkbox", change: () => setBlind(box.checked) });
  pairs[0].element.before(el("label", { class: "choice" }, box, " Blind: shuffle the sides and hide the names"), told);
  const away = (pair, hour) => Math.min((pair.hour - hour + 24) % 24, (hour - pair.hour + 24) % 24);
  return {
    nearest: (hour) => pairs.reduce((best, pair) => (away(pair, hour) < away(best, hour) ? pair : best)),
    play: (pair, role) => player.play(pair.sides.find((side) => side.role === role)),
    stop: () => player.stop(),
  };
}
