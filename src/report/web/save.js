// Saving a chart: the SVG with its title, in the colours of paper, with every style written out so that it
// stands alone; the PNG is that SVG drawn at twice its size.

const kept = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray",
  "stroke-linecap", "stroke-linejoin", "opacity", "font-family", "font-size", "font-weight", "font-style",
  "font-variant-numeric", "text-anchor", "dominant-baseline", "paint-order", "visibility"];
const namespace = "http://www.w3.org/2000/svg";

function lines(text, width) {
  const result = [""];
  for (const word of text.split(" ")) {
    const longer = `${result.at(-1)} ${word}`.trim();
    if (longer.length > width && result.at(-1)) result.push(word);
    else result[result.length - 1] = longer;
  }
  return result;
}

function text(content, y, size, weight) {
  const element = document.createElementNS(namespace, "text");
  element.textContent = content;
  for (const [key, value] of Object.entries({ x: 8, y, "font-size": size, "font-weight": weight }))
    element.setAttribute(key, value);
  return element;
}

/** The chart as a document of its own, a string. */
export function standaloneSvg(svg, chart) {
  const width = svg.viewBox.baseVal.width, height = svg.viewBox.baseVal.height;
  const paper = document.createElement("div");
  paper.className = "on-paper";
  const outer = document.createElementNS(namespace, "svg");
  const per = Math.max(20, Math.floor((width - 16) / 8.2));
  let y = 8;
  for (const line of lines(chart.title, per)) outer.append(text(line, (y += 20), 16, 700));
  for (const line of lines(chart.subtitle, Math.floor(per * 1.25))) outer.append(text(line, (y += 17), 12, 400));
  if (chart.note) for (const line of lines(chart.note, Math.floor(per * 1.25))) outer.append(text(line, (y += 17), 12, 400));
  y += 10;
  const inner = svg.cloneNode(true);
  for (const [key, value] of Object.entries({ x: 0, y, width, height })) inner.setAttribute(key, value);
  outer.append(inner);
  paper.append(outer);
  document.body.append(paper);
  outer.querySelectorAll("style, [aria-label=tip], [data-mark=tip]").forEach((element) => element.remove());
  for (const element of outer.querySelectorAll("*")) {
    const style = getComputedStyle(element);
    for (const name of kept) {
      const value = style.getPropertyValue(name);
      if (value) element.setAttribute(name, value);
    }
    element.removeAttribute("style");
    element.removeAttribute("class");
    element.removeAttribute("data-mark");
  }
  const background = document.createElementNS(namespace, "rect");
  background.setAttribute("width", "100%");
  background.setAttribute("height", "100%");
  background.setAttribute("fill", getComputedStyle(paper).backgroundColor);
  outer.prepend(background);
  for (const [key, value] of Object.entries({ width, height: y + height, viewBox: `0 0 ${width} ${y + height}` }))
    outer.setAttribute(key, value);
  const result = new XMLSerializer().serializeToString(outer);
  paper.remove();
  return `<?xml version="1.0" encoding="UTF-8"?>\n${result}\n`;
}

function download(url, name) {
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
}

export function saveSvg(svg, chart) {
  const url = URL.createObjectURL(new Blob([standaloneSvg(svg, chart)], { type: "image/svg+xml" }));
  download(url, `${chart.name}.svg`);
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
}

export function savePng(svg, chart) {
  const image = new Image();
  image.onload = () => {
    const canvas = document.createElement("canvas");
    canvas.width = 2 * image.width;
    canvas.height = 2 * image.height;
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    download(canvas.toDataURL("image/png"), `${chart.name}.png`);
  };
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(standaloneSvg(svg, chart))}`;
}
