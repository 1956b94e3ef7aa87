// The size in print of a PNG: the chunk pHYs (PNG specification, third edition, 11.3.5.3), which no canvas writes.

const table = Array.from({ length: 256 }, (_, n) => {
  for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
  return n >>> 0;
});

/** CRC of the specification's annex D. */
function crc(bytes) {
  let c = 0xffffffff;
  for (const byte of bytes) c = table[(c ^ byte) & 0xff] ^ (c >>> 8);
  return (c ^ 0xffffffff) >>> 0;
}

const kHeaderEnd = 8 + 25; // signature and IHDR

/** The same picture with its dots an inch said in it. */
export function withPrintSize(png, dotsPerInch) {
  const chunk = new Uint8Array(4 + 4 + 9 + 4), view = new DataView(chunk.buffer);
  const perMetre = Math.round(dotsPerInch / 0.0254);
  view.setUint32(0, 9);
  chunk.set([112, 72, 89, 115], 4); // pHYs
  view.setUint32(8, perMetre);
  view.setUint32(12, perMetre);
  chunk[16] = 1; // metres
  view.setUint32(17, crc(chunk.subarray(4, 17)));
  const result = new Uint8Array(png.length + chunk.length);
  result.set(png.subarray(0, kHeaderEnd));
  result.set(chunk, kHeaderEnd);
  result.set(png.subarray(kHeaderEnd), kHeaderEnd + chunk.length);
  return result;
}
