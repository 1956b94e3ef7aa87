// The page that measures: takes recordings, shares them out to workers, shows what comes back, saves segments.csv.
// COMPILED (the module, base64) and WORKER (the worker's text) are put in front by the build.
"use strict";
(() => {
  const find = (id) => document.getElementById(id);
  const make = (tag, text, className) => {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    if (className) element.className = className;
    return element;
  };
  const bytes = Uint8Array.from(atob(COMPILED), (letter) => letter.charCodeAt(0));
  const workerUrl = URL.createObjectURL(new Blob([WORKER], { type: "text/javascript" }));
  const MOST_WORKERS = 4;

  // As the program knows recordings by their endings (src/audio/inventory.cpp).
  const ENDINGS = new Set(["wav", "wave", "flac", "aif", "aiff", "aifc", "au", "caf", "oga", "ogg", "opus", "rf64", "w64"]);
  const isRecording = (name) => !/(^|\/)\./.test(name) && ENDINGS.has(name.slice(name.lastIndexOf(".") + 1).toLowerCase());

  const isMp3 = (name) => /\.mp3$/i.test(name);

  const jobs = []; // {number, file, name, row, cells, shown, facts, lines, ended, asked}
  const waiting = []; // to be measured
  const unpainted = []; // opened by the user, who wants to see them: before all that waits
  let workers = []; // {thread, ready, job, painting, share}
  let header = "";
  let passedOver = 0, ended = 0, measured = 0;
  let cannot = ""; // why this browser cannot do it at all

  function seconds(value) {
    const whole = Math.round(value);
    return whole < 60 ? `${value.toFixed(1)} s` : `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
  }

  /** Name, start, length, state with its reason, what is under way. */
  function showFacts(job, facts) {
    job.facts = facts;
    const [, start, length, state] = job.cells;
    start.textContent = facts.start ? facts.start.replace("T", " ") : "not known";
    length.textContent = facts.rate ? `${seconds(facts.seconds)}, ${facts.rate} Hz, ${facts.channels} ch, ${facts.format}` : "";
    const words = { measured: "whole", pending: "being measured", "not measured": "being measured" };
    let text = words[facts.state] ?? facts.state;
    if (facts.reason) text += `: ${facts.reason}`;
    if (facts.clipped > 0) text += `; clipped: up to ${(100 * facts.clipped).toPrecision(2)} % of a segment's samples`;
    state.textContent = text;
    job.row.dataset.state = facts.state;
  }

  /** The first colours of a picture are paper, ink and soft ink: those of the page, by day and by night. */
  function colour(canvas, { width, height, pixels, palette }) {
    const style = getComputedStyle(document.documentElement);
    const colours = palette.slice();
    ["--paper", "--ink", "--faint"].forEach((name, i) => {
      const [, ...parts] = /^#(..)(..)(..)$/.exec(style.getPropertyValue(name).trim());
      colours.set(parts.map((part) => parseInt(part, 16)), 3 * i);
    });
    const image = new ImageData(width, height);
    pixels.forEach((pixel, i) => {
      image.data.set(colours.subarray(3 * pixel, 3 * pixel + 3), 4 * i);
      image.data[4 * i + 3] = 255;
    });
    canvas.getContext("2d").putImageData(image, 0, 0);
  }

  const pictures = new Map(); // canvas -> its picture
  function showPicture(job, picture) {
    const canvas = make("canvas");
    canvas.width = picture.width;
    canvas.height = picture.height;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", `spectrogram of ${job.name}`);
    colour(canvas, picture);
    pictures.set(canvas, picture);
    job.shown.prepend(canvas);
  }
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => pictures.forEach((picture, canvas) => colour(canvas, picture)));

  /** The numbers of a recording as a table, made when it is opened. */
  function showNumbers(job) {
    if (job.shown.querySelector("table")) return;
    const names = header.trim().split(",");
    const rows = job.lines.trim().split("\n").map(splitLine);
    const shown = names.map((_, i) => i).filter((i) => i > 3 && rows.some((row) => row[i] !== ""));
    const table = make("table");
    table.append(make("caption", `Every number of each segment (${rows.length} in all); docs/measures.md says what each is.`));
    const head = table.createTHead().insertRow();
    for (const i of shown) head.appendChild(make("th", names[i])).scope = "col";
    const body = table.createTBody();
    for (const row of rows.slice(0, 200)) {
      const line = body.insertRow();
      for (const i of shown) line.append(make("td", shorten(row[i]), "number"));
    }
    const scroll = make("div", undefined, "scroll");
    scroll.tabIndex = 0;
    scroll.append(table);
    job.shown.append(scroll);
    if (rows.length > 200) job.shown.append(make("p", "The first 200 are shown; segments.csv has them all.", "note"));
  }
  const shorten = (text) => (text !== "" && /^-?\d*\.\d{4,}/.test(text) ? Number(text).toPrecision(4) : text);

  /** RFC 4180: only the file's name can be quoted. */
  function splitLine(line) {
    const cells = [];
    for (const match of line.matchAll(/("(?:[^"]|"")*"|[^,]*)(,|$)/g)) {
      cells.push(match[1].startsWith('"') ? match[1].slice(1, -1).replaceAll('""', '"') : match[1]);
      if (match[2] === "") break;
    }
    return cells;
  }

  /** What an opened name shows, as soon as there is something. */
  function opened(job) {
    if (job.shown.parentElement.hidden) return;
    if (!job.lines) {
      job.shown.textContent = job.ended ? "No numbers: its state says why." : "No numbers yet.";
      return;
    }
    if (!job.shown.querySelector("table")) job.shown.replaceChildren();
    showNumbers(job);
    if (job.ended && !job.asked) {
      job.asked = true;
      unpainted.push(job);
      fill();
    }
  }

  function end(job, words, state) {
    if (!job.ended) ended += 1;
    job.ended = true;
    if (words !== undefined) job.cells[3].textContent = words;
    if (state !== undefined) job.row.dataset.state = state;
    opened(job);
  }

  /** A line of the list, and one below it that its name opens. */
  function addJob(file, name) {
    const row = find("files").insertRow();
    row.className = "recording";
    const cells = ["", "", "", "waiting"].map((text) => row.appendChild(make("td", text)));
    const below = find("files").insertRow();
    below.hidden = true;
    const shown = below.appendChild(make("td"));
    shown.colSpan = cells.length;
    const opener = cells[0].appendChild(make("button", name, "opener"));
    opener.setAttribute("aria-expanded", "false");
    const job = { number: jobs.length, file, name, row, cells, shown, lines: null, ended: false };
    opener.addEventListener("click", () => {
      below.hidden = !below.hidden;
      opener.setAttribute("aria-expanded", String(!below.hidden));
      opened(job);
    });
    jobs.push(job);
    return job;
  }

  function tell() {
    const busy = waiting.length > 0 || workers.some((worker) => worker.job && !worker.painting);
    const passed = passedOver ? `; ${passedOver} other ${passedOver === 1 ? "file" : "files"} passed over` : "";
    let words = `${ended} of ${jobs.length} recordings done${passed}`;
    if (jobs.length === 0) words = `no recording among them${passed}; what it reads is said below`;
    else if (!busy && measured < ended) words += `; ${ended - measured} not measured, and the list says why`;
    find("progress").textContent = cannot || words;
    find("bar").hidden = !busy;
    find("bar").max = Math.max(1, jobs.length);
    find("bar").value = ended + workers.reduce((sum, worker) => sum + worker.share, 0);
    find("cancel").hidden = !busy;
    find("save").disabled = measured === 0;
    find("save").textContent = busy && measured > 0 ? "Save segments.csv so far" : "Save segments.csv";
    document.documentElement.classList.toggle("busy", busy);
  }

  function startWorker() {
    const worker = { job: null, painting: false, ready: false, share: 0, thread: new Worker(workerUrl) };
    worker.thread.onmessage = ({ data }) => answer(worker, data);
    worker.thread.onerror = (event) => {
      event.preventDefault();
      broken(worker, event.message || "it stopped");
    };
    worker.thread.postMessage({ compiled: bytes });
    workers.push(worker);
  }

  function next(worker) {
    worker.painting = unpainted.length > 0;
    worker.job = (worker.painting ? unpainted : waiting).shift() ?? null;
    worker.share = 0;
    if (worker.job) {
      const { number, file, name } = worker.job;
      if (!worker.painting) worker.job.cells[3].textContent = "being opened";
      worker.thread.postMessage({ job: number, file, name, paint: worker.painting });
    }
    tell();
  }

  /** A worker that stopped in the middle is not trusted with the next recording: another one takes its place. */
  function broken(worker, why) {
    worker.thread.terminate();
    workers = workers.filter((other) => other !== worker);
    if (worker.job && worker.painting) worker.job.shown.append(make("p", `no spectrogram: ${why}`, "note"));
    else if (worker.job) end(worker.job, `could not be measured here (${why}); try the program, and keep the file`, "unreadable");
    fill();
    tell();
  }

  /** Without a worker that starts there is nothing to wait for. */
  function giveUp(why) {
    cannot = `This browser cannot run the page's program (${why}); a browser of 2023 or later can.`;
    cancel();
  }

  function answer(worker, data) {
    const job = worker.job;
    if (data.ready) {
      worker.ready = true;
      header = data.header;
      next(worker);
    } else if (data.cannot !== undefined) {
      giveUp(data.cannot);
    } else if (data.broken !== undefined) {
      broken(worker, data.broken);
    } else if (data.facts) {
      showFacts(job, data.facts);
      if (data.lines) {
        job.lines = data.lines;
        measured += 1;
        opened(job);
      }
    } else if (data.done) {
      worker.share = data.done / data.segments;
      job.cells[3].textContent = `measured ${data.done} of ${data.segments} segments`;
      tell();
    } else if (data.picture) {
      showPicture(job, data.picture);
    } else if (data.end) {
      if (!worker.painting) end(job);
      next(worker);
    }
  }

  /** As many workers as there is work and the machine has cores. */
  function fill() {
    if (cannot) return;
    for (const worker of workers) if (worker.ready && !worker.job) next(worker);
    const most = Math.min(MOST_WORKERS, navigator.hardwareConcurrency || 2);
    while (workers.length < most && workers.filter((worker) => !worker.job).length < waiting.length + unpainted.length) startWorker();
  }

  function cancel() {
    for (const worker of workers) {
      worker.thread.terminate();
      if (worker.job && !worker.painting) end(worker.job, worker.job.lines ? undefined : "cancelled");
      else if (worker.job) worker.job.asked = false;
    }
    workers = [];
    for (const job of waiting.splice(0)) end(job, cannot ? "not measured" : "cancelled");
    tell();
  }

  /** files: {file, name}, or {name, why} for what could not be read. */
  function take(files) {
    for (const { file, name, why } of files) {
      if (isMp3(name)) end(addJob(file, name), "not read here: MP3; the program reads it", "unreadable");
      else if (!isRecording(name) && !why) passedOver += 1;
      else if (why) end(addJob(file, name), `cannot be read: ${why}`, "unreadable");
      else if (cannot) end(addJob(file, name), "not measured");
      else waiting.push(addJob(file, name));
    }
    find("result").hidden = false;
    fill();
    tell();
  }

  /** Everything below a dropped folder, in the order of names. */
  async function below(entry, prefix) {
    const name = prefix + entry.name;
    try {
      if (entry.isFile) return [{ file: await new Promise((done, failed) => entry.file(done, failed)), name }];
      const reader = entry.createReader();
      const entries = [];
      for (;;) {
        const some = await new Promise((done, failed) => reader.readEntries(done, failed));
        if (some.length === 0) break;
        entries.push(...some);
      }
      entries.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
      const found = [];
      for (const inner of entries) found.push(...(await below(inner, `${name}/`)));
      return found;
    } catch (error) {
      return [{ name, why: error.message }];
    }
  }

  async function drop(event) {
    event.preventDefault();
    find("place").classList.remove("over");
    const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
    for (const entry of entries) take(await below(entry, ""));
  }

  function save() {
    const link = make("a");
    // One after another in the order of the list, whatever worker was done first.
    link.href = URL.createObjectURL(new Blob([header, ...jobs.map((job) => job.lines ?? "")], { type: "text/csv" }));
    link.download = "segments.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  const chosen = (event) => {
    take([...event.target.files].map((file) => ({ file, name: file.webkitRelativePath || file.name })));
    event.target.value = "";
  };
  find("choose").addEventListener("change", chosen);
  find("folder").addEventListener("change", chosen);
  find("cancel").addEventListener("click", cancel);
  find("save").addEventListener("click", save);
  addEventListener("dragover", (event) => {
    event.preventDefault();
    find("place").classList.add("over");
  });
  addEventListener("dragleave", () => find("place").classList.remove("over"));
  addEventListener("drop", drop);
  addEventListener("beforeunload", (event) => {
    if (document.documentElement.classList.contains("busy")) event.preventDefault();
  });
  document.documentElement.classList.add("drawn");
})();
