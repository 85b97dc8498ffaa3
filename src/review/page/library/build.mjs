// Bundles the third-party code of the page: node build.mjs FOLDER writes plot.js, space.js, record.js and LICENCES there.
//
// The same packages give the same bytes: names are shortened by esbuild alone, nothing carries a path or a date.
import { readFileSync, existsSync, writeFileSync } from "node:fs";
import { build } from "esbuild";

const out = process.argv[2];
const bundles = [["plot", "d3"], ["space", "space"], ["record", "toml"]];

/** Name, version, licence and its text of a package that is in a bundle. */
function licence(name) {
  const told = JSON.parse(readFileSync(`node_modules/${name}/package.json`, "utf8"));
  const file = `node_modules/${name}/LICENSE`;
  const text = existsSync(file) ? readFileSync(file, "utf8").trim() : "";
  if (!text && told.license !== "Unlicense") throw new Error(`${name} has no licence text`);
  const [, copyright = ""] = text.match(/^(Copyright[^]*?)\n\n/m) || [];
  return { name, title: `${name} ${told.version}`, copyright, words: text.slice(text.indexOf(copyright) + copyright.length).trim() || "Unlicense: given to the public domain by its authors." };
}

/** Licence texts, each once, above them what they are for. */
function licences(packages) {
  const groups = new Map();
  for (const each of packages.map(licence)) {
    const known = groups.get(each.words) || { titles: [], copyrights: new Set() };
    known.titles.push(each.title);
    if (each.copyright) known.copyrights.add(each.copyright);
    groups.set(each.words, known);
  }
  return [...groups].map(([words, { titles, copyrights }]) => [titles.join(", "), ...copyrights, "", words].join("\n")).join("\n\n");
}

const everything = new Set();
for (const [file, object] of bundles) {
  const result = await build({
    entryPoints: [`${file}.entry.js`], bundle: true, minify: true, format: "iife", globalName: object, target: "es2022",
    legalComments: "none", charset: "utf8", metafile: true, write: false,
  });
  const inputs = Object.values(result.metafile.outputs).flatMap((output) => Object.entries(output.inputs)).filter(([, { bytesInOutput }]) => bytesInOutput > 0);
  const packages = [...new Set(inputs.map(([path]) => path.match(/^node_modules\/((@[^/]+\/)?[^/]+)/)?.[1]).filter(Boolean))].sort();
  packages.forEach((name) => everything.add(name));
  const code = result.outputFiles[0].text.replace(/^"use strict";/, "").trim();
  if (/<\/script|<!--/i.test(code)) throw new Error(`${file}.js would end the script element it stands in`);
  writeFileSync(`${out}/${file}.js`, `/*\n${licences(packages)}\n*/\n${code}\n`);
}
writeFileSync(`${out}/LICENCES`, `The review page carries parts of these packages, unchanged but for their shortened names.\n\n${licences([...everything].sort())}\n`);
