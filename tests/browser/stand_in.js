// What stands in for the compiled program where the page alone is tried: three segments of any recording, 30 ms each. Its name
// says what it is like: "cut" is damaged, "bad" unreadable, "throws" goes away in the middle.
var createHearwood = async () => {
  if (self.name === "none") throw new Error("no SIMD");
  // As many columns as a page must hold together.
  const more = Array.from({ length: 30 }, (_, i) => `quantity_${i}`);
  const texts = [];
  let name = "", done = 0, failure = "";
  const put = (text) => texts.push(text) - 1;
  const has = (part) => name.includes(part);
  return {
    HEAPU8: new Uint8Array(960 * 300).map((_, i) => (i * 7) % 200),
    UTF8ToString: (place) => texts[place],
    _hw_header: () => put(`site,stand,deployment,file,channel,segment,start_utc,start_local,aci,ndsi,${more.join()},reasons\n`),
    _hw_failure: () => put(failure),
    _hw_facts: () => put(JSON.stringify({
      name, state: has("cut") ? "damaged" : has("bad") ? "unreadable" : done ? "measured" : "pending",
      reason: has("cut") ? "truncated: 30.0 s of 60.0 s are missing" : has("bad") ? "no sound in it" : "",
      start: "2031-05-04T05:00:00", rate: 48000, channels: 1, bits: 16, format: "FLAC", seconds: 61.5, lost_s: 0, segments: 3, done,
      clipped: done ? 0.00123 : null,
    })),
    _hw_lines: () => put(Array.from({ length: done }, (_, i) =>
      `,,,"${name.replaceAll('"', '""')}",0,${i},,2031-05-04T05:0${i}:00,${150.1234567 + i},,${more.map((_, k) => -k / 7).join()},\n`).join("")),
    _hw_measure_next: () => {
      for (const until = Date.now() + 30; Date.now() < until;);
      done += 1;
      if (has("throws")) failure = "the file went away";
    },
    _hw_paint_next: () => 1, _hw_picture: () => 0, _hw_palette: () => 0, _hw_close: () => {},
    FS: { mkdir() {}, mount() {}, unmount() {} }, WORKERFS: {},
    cwrap: (called) => (called === "hw_paint" ? () => true : (path, given) => {
      [name, done, failure] = [given, 0, ""];
      return has("bad") ? 0 : 3;
    }),
  };
};
