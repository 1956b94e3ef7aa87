// Numbers and words for people: three significant digits, true minus signs, p as it is.

/** Three significant digits; "n/a" for a missing value. */
export function short(x) {
  if (x === null || x === undefined || Number.isNaN(x)) return "n/a";
  if (x === Infinity) return "no upper limit";
  if (x === -Infinity) return "no lower limit";
  if (x === 0) return "0";
  const size = Math.abs(x);
  const text = size >= 1e6 || size < 1e-4 ? x.toExponential(2) : plain(x, size);
  return text.replace(/-/g, "\u2212");
}

function plain(x, size) {
  const digits = Math.max(0, 2 - Math.floor(Math.log10(size)));
  const text = x.toFixed(Math.min(digits, 8));
  return size >= 1000 ? String(Number(x.toPrecision(3))) : text;
}

/** An axis tick: as many digits as it needs, no more. */
export const tick = (x) => String(Number(x.toPrecision(10))).replace(/-/g, "\u2212");

/** p to three digits: 0.0123, 0.546, 0.00043. */
export function pValue(p) {
  if (p === null || p === undefined) return "n/a";
  return p >= 0.001 ? String(Number(p.toPrecision(3))) : p.toFixed(5);
}

/** A correlation: two decimals. */
export const rho = (r) => (r === null ? "n/a" : r.toFixed(2).replace("-", "\u2212"));

/** "4.1 to 18.6", "below 18.6", "above 4.1", "unbounded". */
export function interval(low, high) {
  if (low === null && high === null) return "n/a";
  const open = (x) => x === null || !Number.isFinite(x);
  if (open(low) && open(high)) return "unbounded";
  if (open(low)) return `below ${short(high)}`;
  if (open(high)) return `above ${short(low)}`;
  return `${short(low)} to ${short(high)}`;
}

/** p is small enough at this level, whatever the last bit of 1 - level: the same rule as the program's. */
export const reaches = (p, level) => p !== null && p <= 1 - level + 1e-12;

export const percent = (share) => `${(100 * share).toFixed(share > 0 && share < 0.1 ? 1 : 0)} %`;

export const count = (n) => String(n).replace(/\B(?=(\d{3})+$)/g, ",");

/** 5.5 hours as "05:30". */
export function clock(hours) {
  const minutes = Math.round(hours * 60);
  return `${String(Math.floor(minutes / 60) % 24).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
}

/** "one site", "two sites", "12 sites". */
export function several(n, one, many = `${one}s`) {
  const words = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"];
  return `${words[n] ?? count(n)} ${n === 1 ? one : many}`;
}

/** First letter as a capital. */
export const sentence = (text) => text.charAt(0).toUpperCase() + text.slice(1);

export const mean = (values) => values.reduce((sum, x) => sum + x, 0) / values.length;

/** Standard error of the mean; null below two values. */
export function standardError(values) {
  if (values.length < 2) return null;
  const m = mean(values);
  const squares = values.reduce((sum, x) => sum + (x - m) ** 2, 0);
  return Math.sqrt(squares / (values.length - 1) / values.length);
}
