// node bundle.cjs SOURCE BUILD OUTPUT: OUTPUT/page.js and OUTPUT/page.css from SOURCE, with the packages of
// BUILD/node_modules. The licences of all that is bundled stand at the script's end, each text once.
const fs = require("node:fs");
const path = require("node:path");
const [source, build, output] = process.argv.slice(2);
const esbuild = require(path.join(build, "node_modules/esbuild"));

function bundle(input, extra) {
  return esbuild.buildSync({
    entryPoints: [path.join(source, input)], absWorkingDir: build, nodePaths: [path.join(build, "node_modules")], bundle: true,
    minify: true, charset: "utf8", legalComments: "none", logLevel: "warning", target: ["chrome100", "firefox100"], write: false,
    metafile: true, ...extra,
  });
}

function licences(metafile) {
  const packages = new Set();
  for (const input of Object.keys(metafile.inputs)) {
    const found = /node_modules\/((?:@[^/]+\/)?[^/]+)\//.exec(input);
    if (found) packages.add(found[1]);
  }
  const texts = new Map();
  for (const name of [...packages].sort()) {
    const folder = path.join(build, "node_modules", name);
    const file = fs.readdirSync(folder).find((entry) => /^licen[cs]e/i.test(entry));
    if (!file) throw new Error(`${name} has no licence file; it must not be bundled without one`);
    const text = fs.readFileSync(path.join(folder, file), "utf8").replace(/\*\//g, "* /").trim();
    texts.set(text, [...(texts.get(text) ?? []), name]);
  }
  return [...texts].map(([text, names]) => `/* ${names.join(", ")}:\n${text}\n*/\n`).join("");
}

const script = bundle("page.js", { format: "iife" });
// A page's script element ends at the first end tag, wherever it stands.
const bytes = (script.outputFiles[0].text + licences(script.metafile)).replace(/<\/script/gi, "<\\/script");
fs.writeFileSync(path.join(output, "page.js"), bytes);
fs.writeFileSync(path.join(output, "page.css"), bundle("page.css", {}).outputFiles[0].text);
