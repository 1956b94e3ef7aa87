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
  const MOST_PICTURES = 200; // each takes a megabyte

  // As the program knows recordings by their endings (src/audio/inventory.cpp).
  const ENDINGS = new Set(["wav", "wave", "flac", "aif", "aiff", "aifc", "au", "caf", "oga", "ogg", "opus", "rf64", "w64"]);
  const isRecording = (name) => ENDINGS.has(name.slice(name.lastIndexOf(".") + 1).toLowerCase());

  const jobs = []; // {file, name, row, state, lines}
  const waiting = [];
  let workers = [];
  let header = "";
  let passedOver = 0;
  let pictures = 0;

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

  function showPicture(job, { width, height, pixels }) {
    if (++pictures > MOST_PICTURES) return;
    const canvas = make("canvas");
    canvas.width = width;
    canvas.height = height;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", `spectrogram of ${job.name}`);
    canvas.getContext("2d").putImageData(new ImageData(new Uint8ClampedArray(pixels.buffer), width, height), 0, 0);
    job.details.append(canvas);
  }

  /** The numbers of a recording as a table, made when it is opened. */
  function showNumbers(job) {
    if (!job.lines || job.details.querySelector("table")) return;
    const names = header.trim().split(",");
    const rows = job.lines.trim().split("\n").map(splitLine);
    const shown = names.map((_, i) => i).filter((i) => i > 3 && rows.some((row) => row[i] !== ""));
    const table = make("table");
    table.append(make("caption", `Every number of each segment (${rows.length} in all); docs/measures.md says what each is.`));
    const head = table.createTHead().insertRow();
    for (const i of shown) head.append(make("th", names[i]));
    const body = table.createTBody();
    for (const row of rows.slice(0, 200)) {
      const line = body.insertRow();
      for (const i of shown) line.append(make("td", shorten(row[i]), "number"));
    }
    const scroll = make("div", undefined, "scroll");
    scroll.tabIndex = 0;
    scroll.append(table);
    job.details.append(scroll);
    if (rows.length > 200) job.details.append(make("p", "The first 200 are shown; segments.csv has them all.", "note"));
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

  function addJob(file, name) {
    const row = find("files").insertRow();
    const cells = ["", "", "", "waiting"].map((text) => row.appendChild(make("td", text)));
    const details = make("details");
    details.append(make("summary", name));
    cells[0].append(details);
    const job = { number: jobs.length, file, name, row, cells, details, lines: null };
    details.addEventListener("toggle", () => showNumbers(job));
    jobs.push(job);
    waiting.push(job);
  }

  function tell() {
    const ended = jobs.filter((job) => job.ended).length;
    const measured = jobs.filter((job) => job.lines).length;
    const busy = workers.some((worker) => worker.job) || waiting.length > 0;
    find("progress").textContent = jobs.length === 0 ? "" :
      `${ended} of ${jobs.length} recordings done` + (passedOver ? `; ${passedOver} other files passed over` : "") +
      (busy ? "" : measured < ended ? `; ${ended - measured} could not be measured, and the list says why` : "");
    find("bar").hidden = !busy;
    find("bar").max = Math.max(1, jobs.length);
    find("bar").value = ended + workers.reduce((sum, worker) => sum + (worker.share ?? 0), 0);
    find("cancel").hidden = !busy;
    find("save").disabled = measured === 0;
    find("save").textContent = busy && measured > 0 ? "Save segments.csv so far" : "Save segments.csv";
    document.documentElement.classList.toggle("busy", busy);
  }

  function startWorker() {
    const worker = { job: null, share: 0, thread: new Worker(workerUrl) };
    worker.thread.onmessage = ({ data }) => answer(worker, data);
    worker.thread.onerror = (event) => {
      event.preventDefault();
      broken(worker, event.message || "it stopped");
    };
    worker.thread.postMessage({ compiled: bytes });
    workers.push(worker);
  }

  function next(worker) {
    worker.job = waiting.shift() ?? null;
    worker.share = 0;
    if (worker.job) {
      worker.job.cells[3].textContent = "being opened";
      worker.thread.postMessage({ job: worker.job.number, file: worker.job.file, name: worker.job.name });
    }
    tell();
  }

  function broken(worker, why) {
    worker.thread.terminate();
    workers = workers.filter((other) => other !== worker);
    if (worker.job) {
      worker.job.ended = true;
      worker.job.cells[3].textContent = `could not be measured here (${why}); try the program, and keep the file`;
      worker.job.row.dataset.state = "unreadable";
    }
    fill();
    tell();
  }

  function answer(worker, data) {
    const job = worker.job;
    if (data.ready) {
      header = data.header;
      next(worker);
    } else if (data.broken !== undefined) {
      broken(worker, data.broken);
    } else if (data.facts) {
      showFacts(job, data.facts);
      if (data.lines !== undefined && data.lines !== "") {
        job.lines = data.lines;
        if (job.details.open) showNumbers(job);
      }
    } else if (data.done) {
      worker.share = data.done / data.segments;
      job.cells[3].textContent = `measured ${data.done} of ${data.segments} segments`;
      tell();
    } else if (data.picture) {
      showPicture(job, data.picture);
    } else if (data.end) {
      job.ended = true;
      next(worker);
    }
  }

  /** As many workers as there is work and the machine has cores. */
  function fill() {
    const most = Math.min(MOST_WORKERS, navigator.hardwareConcurrency || 2);
    for (const worker of workers) if (!worker.job && worker.thread && header) next(worker);
    while (workers.length < most && workers.filter((worker) => !worker.job).length < waiting.length) startWorker();
  }

  function cancel() {
    for (const worker of workers) {
      worker.thread.terminate();
      if (worker.job) {
        worker.job.ended = true;
        worker.job.cells[3].textContent = worker.job.lines ? worker.job.cells[3].textContent : "cancelled";
      }
    }
    workers = [];
    for (const job of waiting) {
      job.ended = true;
      job.cells[3].textContent = "cancelled";
    }
    waiting.length = 0;
    tell();
  }

  function take(files) {
    for (const { file, name } of files) isRecording(name) ? addJob(file, name) : (passedOver += 1);
    find("result").hidden = false;
    fill();
    tell();
  }

  /** Everything below a dropped folder, in the order of names. */
  async function below(entry, prefix) {
    if (entry.isFile) {
      const file = await new Promise((done, failed) => entry.file(done, failed));
      return [{ file, name: prefix + file.name }];
    }
    const reader = entry.createReader();
    const entries = [];
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (some.length === 0) break;
      entries.push(...some);
    }
    entries.sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0));
    const found = [];
    for (const inner of entries) if (!inner.name.startsWith(".")) found.push(...(await below(inner, `${prefix}${entry.name}/`)));
    return found;
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
  tell();
  document.documentElement.classList.add("drawn");
})();
