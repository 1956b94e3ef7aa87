// One worker: a recording at a time, read from where it lies in pieces, measured and drawn by the program's own code.
// The build puts the compiled module (createHearwood) in front of this. Messages: {compiled} once, then {job, file, name}.
"use strict";
let module = null;
let call = null;

async function begin(compiled) {
  module = await createHearwood({ wasmBinary: compiled });
  const text = (name) => () => module.UTF8ToString(module[name]());
  call = {
    header: text("_hw_header"), facts: text("_hw_facts"), lines: text("_hw_lines"),
    open: module.cwrap("hw_open", "number", ["string", "string"]),
    paint: module.cwrap("hw_paint", "boolean", ["string", "number", "number"]),
  };
  module.FS.mkdir("/in");
  self.postMessage({ ready: true, header: call.header() });
}

const PICTURE = { width: 960, height: 300 };

function measure({ job, file, name }) {
  // The name on the disk of this little world is of no account: the table's name is handed over beside it.
  module.FS.mount(module.WORKERFS, { blobs: [{ name: "recording", data: file }] }, "/in");
  try {
    const path = "/in/recording";
    const segments = call.open(path, name);
    self.postMessage({ job, facts: JSON.parse(call.facts()) });
    for (let done = 1; done <= segments; ++done) {
      module._hw_measure_next();
      self.postMessage({ job, done, segments });
    }
    self.postMessage({ job, facts: JSON.parse(call.facts()), lines: call.lines() });
    if (segments > 0 && call.paint(path, PICTURE.width, PICTURE.height)) {
      while (module._hw_paint_next() < 1) self.postMessage({ job, drawing: true });
      const at = module._hw_picture();
      const pixels = module.HEAPU8.slice(at, at + PICTURE.width * PICTURE.height * 4);
      self.postMessage({ job, picture: { ...PICTURE, pixels } }, [pixels.buffer]);
    }
  } finally {
    module._hw_close();
    module.FS.unmount("/in");
  }
}

self.onmessage = async ({ data }) => {
  if (data.compiled) {
    await begin(data.compiled);
    return;
  }
  try {
    measure(data);
    self.postMessage({ job: data.job, end: true });
  } catch (error) {
    // A program that stopped in the middle is not to be trusted with the next recording.
    self.postMessage({ job: data.job, broken: String(error && error.message ? error.message : error) });
  }
};
