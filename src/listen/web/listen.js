// The listening sheet: plays the clips in order, takes the answers by keyboard, keeps them in the browser and
// writes them as CSV. Answers of each listener are kept apart.
"use strict";
(() => {
  const sheet = JSON.parse(document.getElementById("sheet").textContent);
  const at = (id) => document.getElementById(id);
  const heard = [["birds", "b"], ["insects", "i"], ["frogs", "f"], ["mammals", "m"], ["rain", "r"], ["wind", "w"],
                 ["water", "t"], ["engine", "e"], ["people", "p"], ["other", "o"]];
  const full = ["nothing", "a little", "some", "much", "all of it"];
  const mostKinds = 30;
  let listener = "", place = 0, answers = {};

  // --- What is kept. The browser may refuse to keep anything; then the CSV is the only copy.
  const shelf = (name) => `hearwood listening ${sheet.sheet} ${name}`;
  const remember = () => {
    try {
      localStorage.setItem(shelf("last"), listener);
      localStorage.setItem(shelf("of " + listener), JSON.stringify({ place, answers }));
      at("trouble").textContent = "";
    } catch {
      at("trouble").textContent = "This browser keeps nothing for this page: save the CSV before you close it.";
    }
  };
  const recall = (name) => {
    listener = name;
    place = 0;
    answers = {};
    try {
      const kept = JSON.parse(localStorage.getItem(shelf("of " + name)) || "{}");
      place = Math.min(Math.max(kept.place | 0, 0), sheet.clips.length - 1);
      answers = kept.answers || {};
    } catch { /* nothing kept, or not readable: begin anew */ }
  };
  // What was answered before a name was written is that listener's, unless answers of that name are kept already.
  const rename = (name) => {
    const nameless = listener === "" && Object.keys(answers).length > 0 ? { place, answers } : null;
    recall(name);
    if (nameless && name !== "" && Object.keys(answers).length === 0) {
      ({ place, answers } = nameless);
      try { localStorage.removeItem(shelf("of ")); } catch { /* keeps nothing */ }
    }
    remember();
    load(false);
  };
  const empty = () => ({ heard: {}, kinds: 0, fullness: null, unsure: false, note: "" });
  const current = () => (answers[sheet.clips[place]] ??= empty());

  // --- What is shown.
  const show = () => {
    const clip = sheet.clips[place], answer = answers[clip] || empty();
    const done = sheet.clips.filter((c) => answers[c] && answers[c].fullness !== null).length;
    at("where").textContent = `Clip ${place + 1} of ${sheet.clips.length}, ${done} answered`;
    for (const [name] of heard) at("heard-" + name).checked = Boolean(answer.heard[name]);
    full.forEach((_, i) => { at("full-" + i).checked = answer.fullness === i; });
    at("kinds").textContent = answer.kinds;
    at("unsure").checked = answer.unsure;
    at("note").value = answer.note;
    at("back").disabled = place === 0;
  };
  // Time begins and ends where the picture's plot does, not at its edges.
  const needle = (share) => {
    const [from, to] = sheet.plot;
    at("needle").style.left = `${100 * (from + (to - from) * Math.min(share, 1))}%`;
  };
  const load = (play) => {
    needle(0);
    const clip = sheet.clips[place];
    at("picture").src = `pictures/${clip}.png`;
    at("sound").src = `clips/${clip}.wav`;
    if (play) at("sound").play().catch(() => {});
    show();
  };
  const go = (step) => {
    place = Math.min(Math.max(place + step, 0), sheet.clips.length - 1);
    remember();
    load(true);
  };
  const change = (how) => { how(current()); remember(); show(); };

  // --- What comes in.
  const setHeard = (name, on) => change((a) => { a.heard[name] = on; });
  const setKinds = (n) => change((a) => { a.kinds = Math.min(Math.max(n, 0), mostKinds); });
  const setFull = (i) => change((a) => { a.fullness = i; });
  const choice = (type, group, id, text, key, use) => {
    const label = document.createElement("label"), input = document.createElement("input"),
          letter = document.createElement("kbd");
    input.type = type;
    input.id = id;
    input.name = group;
    input.addEventListener("change", () => use(input.checked));
    letter.textContent = key;
    label.append(input, ` ${text} `, letter);
    return label;
  };
  for (const [name, key] of heard)
    at("heard").append(choice("checkbox", "heard", "heard-" + name, name, key, (on) => setHeard(name, on)));
  full.forEach((text, i) => at("full").append(choice("radio", "full", "full-" + i, text, String(i), () => setFull(i))));
  at("fewer").addEventListener("click", () => setKinds(current().kinds - 1));
  at("more").addEventListener("click", () => setKinds(current().kinds + 1));
  at("unsure").addEventListener("change", (e) => change((a) => { a.unsure = e.target.checked; }));
  at("note").addEventListener("input", (e) => { current().note = e.target.value; remember(); });
  at("back").addEventListener("click", () => go(-1));
  at("next").addEventListener("click", () => go(1));
  at("listener").addEventListener("change", (e) => rename(e.target.value.trim()));
  at("answers").addEventListener("submit", (e) => e.preventDefault());
  at("sound").addEventListener("timeupdate", () => {
    const length = at("sound").duration || sheet.seconds;
    needle(at("sound").currentTime / length);
  });
  const playing = () => !at("sound").paused && !at("sound").ended;
  for (const event of ["play", "pause", "ended", "emptied"])
    at("sound").addEventListener(event, () => { at("play").textContent = playing() ? "\u25a0\ufe0e Stop" : "\u25b6\ufe0e Play"; });
  const playOrPause = () => { if (playing()) at("sound").pause(); else at("sound").play().catch(() => {}); };
  at("play").addEventListener("click", playOrPause);
  at("sound").addEventListener("error", () => {
    at("trouble").textContent = "This clip cannot be played: the folder 'clips' must lie beside the page.";
  });

  const onKey = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const typing = event.target.matches("input:not([type=checkbox]):not([type=radio])");
    if (typing) {
      if (event.key === "Escape" || event.key === "Enter") event.target.blur();
      if (event.key === "Escape" || event.key === "Enter") event.preventDefault();
      return;
    }
    const sound = at("sound");
    const named = heard.find(([, key]) => key === event.key.toLowerCase());
    if (named) setHeard(named[0], !current().heard[named[0]]);
    else if (/^[0-4]$/.test(event.key)) setFull(Number(event.key));
    else if (event.key === "+" || event.key === "=") setKinds(current().kinds + 1);
    else if (event.key === "-") setKinds(current().kinds - 1);
    else if (event.key === "u") change((a) => { a.unsure = !a.unsure; });
    else if (event.key === "n") at("note").focus();
    else if (event.key === " " && event.target.matches("button") && event.target !== at("play")) return;
    else if (event.key === " ") playOrPause();
    else if (event.key === "Home") sound.currentTime = 0;
    else if (event.key === "Enter" && event.target.matches("button")) return;
    else if (event.key === "Enter" || event.key === "ArrowRight") go(1);
    else if (event.key === "ArrowLeft") go(-1);
    else return;
    event.preventDefault();
  };

  // --- What goes out.
  // What a spreadsheet would run as a formula gets an apostrophe, which hearwood takes off again.
  const guarded = (text) => (/^[=+\-@\t\r']/.test(text) ? `'${text}` : text);
  const quoted = (text) => (/[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const field = (text) => quoted(guarded(text));
  const csv = () => {
    const names = heard.map(([name]) => name);
    const rows = [["sheet", "listener", "clip", ...names, "kinds", "fullness", "unsure", "note"]];
    for (const clip of sheet.clips) {
      const a = answers[clip];
      if (!a || a.fullness === null) continue;
      rows.push([sheet.sheet, listener, clip, ...names.map((n) => (a.heard[n] ? 1 : 0)), a.kinds, a.fullness,
                 a.unsure ? 1 : 0, a.note]);
    }
    return rows.map((row) => row.map((cell) => field(String(cell))).join(",") + "\n").join("");
  };
  at("export").addEventListener("click", () => {
    if (!listener) {
      at("trouble").textContent = "Write your name or initials first: answers of several listeners are told apart by it.";
      at("listener").focus();
      return;
    }
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([csv()], { type: "text/csv" }));
    link.download = `answers-${listener.replace(/[^\p{L}\p{N}]+/gu, "-")}.csv`;
    link.click();
    // The browser may read the blob only some time after the click.
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  });

  // Only once the page is loaded: Chromium on a busy machine may lose, without a word, all that a page stores that
  // reached for its storage while it was still being read.
  const begin = () => {
    let last = "";
    try { last = localStorage.getItem(shelf("last")) || ""; } catch { /* keeps nothing */ }
    recall(last);
    at("listener").value = last;
    document.addEventListener("keydown", onKey);
    load(false);
  };
  window.addEventListener("load", () => setTimeout(begin));
})();
