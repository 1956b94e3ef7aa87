// One worker: a recording at a time, read from where it lies in pieces, measured or drawn by the program's own code.
// The build puts the compiled module (createHearwood) in front of this. Messages: {compiled} once, then {job, file, name, paint}.
"use strict";
let program = null;
let call = null;

async function begin(compiled) {
  program = await createHearwood({ wasmBinary: compiled });
  const text = (name) => () => program.UTF8ToString(program[name]());
  call = {
    header: text("_hw_header"), facts: text("_hw_facts"), lines: text("_hw_lines"), failure: text("_hw_failure"),
    open: program.cwrap("hw_open", "number", ["string", "string"]),
    paint: program.cwrap("hw_paint", "boolean", ["string", "number", "number"]),
  };
  program.FS.mkdir("/in");
  program.WORKERFS.stream_ops = { ...program.WORKERFS.stream_ops, read: readInPieces() };
  self.postMessage({ ready: true, header: call.header() });
}

// The browser is asked for a megabyte at a time, not for each of the program's small reads: each costs it a way to another
// process and back, and leaves a buffer behind.
const PIECE = 1 << 20;

function readInPieces() {
  const reader = new FileReaderSync();
  let of = null, begin = 0, piece = new Uint8Array(0);
  return (stream, buffer, offset, length, position) => {
    const blob = stream.node.contents;
    const count = Math.max(0, Math.min(length, blob.size - position));
    for (let done = 0; done < count;) {
      const at = position + done;
      if (of !== blob || at < begin || at >= begin + piece.length) {
        begin = at - (at % PIECE);
        piece = new Uint8Array(reader.readAsArrayBuffer(blob.slice(begin, begin + PIECE)));
        of = blob;
      }
      const some = piece.subarray(at - begin, at - begin + count - done);
      buffer.set(some, offset + done);
      done += some.length;
    }
    return count;
  };
}

/** What a call gave back, unless the program found that it cannot go on. */
function held(value) {
  const why = call.failure();
  if (why) throw new Error(why);
  return value;
}

const PICTURE = { width: 960, height: 300 };
const PATH = "/in/recording";

function measure(job, name) {
  const segments = held(call.open(PATH, name));
  self.postMessage({ job, facts: JSON.parse(held(call.facts())) });
  for (let done = 1; done <= segments; ++done) {
    held(program._hw_measure_next());
    self.postMessage({ job, done, segments });
  }
  self.postMessage({ job, facts: JSON.parse(held(call.facts())), lines: held(call.lines()) });
}

function paint(job) {
  if (!held(call.paint(PATH, PICTURE.width, PICTURE.height))) return;
  while (held(program._hw_paint_next()) < 1);
  const bytes = (at, count) => program.HEAPU8.slice(at, at + count);
  const pixels = bytes(held(program._hw_picture()), PICTURE.width * PICTURE.height);
  const palette = bytes(held(program._hw_palette()), 3 * 256);
  self.postMessage({ job, picture: { ...PICTURE, pixels, palette } }, [pixels.buffer]);
}

self.onmessage = async ({ data }) => {
  if (data.compiled) {
    await begin(data.compiled).catch((error) => self.postMessage({ cannot: String(error?.message ?? error) }));
    return;
  }
  try {
    // The name on the disk of this little world is of no account: the table's name is handed over beside it.
    program.FS.mount(program.WORKERFS, { blobs: [{ name: "recording", data: data.file }] }, "/in");
    if (data.paint) paint(data.job);
    else measure(data.job, data.name);
    program._hw_close();
    program.FS.unmount("/in");
    self.postMessage({ job: data.job, end: true });
  } catch (error) {
    self.postMessage({ job: data.job, broken: String(error?.message ?? error) });
  }
};
