// Scores DOCUMENT with core.wasm again and again: module.mjs BUILD DOCUMENT prints "module_us T" and "module_bytes N".
import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";

import { drillsFile, moduleOf, read, standardFile } from "../module/module.mjs";

const [build, document] = process.argv.slice(2);
const wasm = join(build, "joined/core.wasm");
const core = await moduleOf(wasm);
core.call("standard", read(standardFile), 0);
core.call("drills", read(drillsFile));
const text = readFileSync(document);
const rounds = (n) => {
  const began = performance.now();
  for (let i = 0; i < n; i++) core.call("score", text);
  return ((performance.now() - began) * 1000) / n;
};
rounds(500); // until the engine has compiled it well
console.log(`module_us ${rounds(3000).toFixed(1)}\nmodule_bytes ${statSync(wasm).size}`);
