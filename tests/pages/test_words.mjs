// The message tables, without a browser: each language says everything the other says, in the same form; every key a page
// asks for is there, and none lies about that no page asks for.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { asked, byPart, CHECKPOINTS, CLUBS, FAULTS, VIEWS } from "../../server/pages/bay/catalogue.js";
import { de, drillWords, en, languages, partial, tables } from "./words.mjs";

const root = fileURLToPath(new URL("../..", import.meta.url));
const read = (path) => readFileSync(join(root, path), "utf8");
/** Every file below a folder whose name ends so. */
const below = (folder, end) => readdirSync(join(root, folder), { recursive: true }).filter((path) => path.endsWith(end)).map((path) => `${folder}/${path}`).sort();
const count = { passed: 0, failed: 0 };

/** Good when nothing is left over; else says what is. */
function none(left, text) {
  const list = [...left];
  count[list.length ? "failed" : "passed"]++;
  console.log((list.length ? "FAILED  " : "ok      ") + text + (list.length ? ` -- ${list.slice(0, 12).join(", ")}` : ""));
}

// Two tables, one content.
const formsOf = (text) => (typeof text === "object" ? text : { always: text });
const namesIn = (text) => [...new Set([...text.matchAll(/\{(\w+)\}/g)].map((found) => found[1]))].sort().join(" ");
const shape = (text) => Object.entries(formsOf(text)).map(([form, words]) => `${form}: ${namesIn(words)}`).sort().join("; ");
const both = Object.keys(en).filter((key) => key in de);
const wordsIn = (text) => text.replace(/\{\w+\}/g, " ").match(/\p{L}+/gu) ?? [];

none(Object.keys(en).filter((key) => !(key in de)), "German says everything English says");
none(Object.keys(de).filter((key) => !(key in en)), "and nothing that English does not");
none(both.filter((key) => shape(en[key]) !== shape(de[key])), "the same {names} and the same forms by number in both");
none(Object.entries({ ...en, ...de }).flatMap(([key]) => [en, de].flatMap((table) => Object.values(formsOf(table[key] ?? "-"))
  .some((text) => text.trim() === "") ? [key] : [])), "no message is empty");
none(both.filter((key) => Object.entries(formsOf(de[key])).some(([form, text]) => wordsIn(text).length > 1 && text === formsOf(en[key])[form])),
  "no sentence of the one is left standing in the other");

// What a machine made says so, says nothing that English does not, with the same {names}; what it lacks is English, and is counted.
const ofItself = ["language.note", "language.missing"];
for (const [tag, table] of Object.entries(partial)) {
  none(Object.keys(table).filter((key) => !(key in en) && !ofItself.includes(key)), `${tag} says nothing that English does not`);
  none(Object.keys(table).filter((key) => key in en && Object.entries(formsOf(table[key])).some(([form, text]) => namesIn(text) !== namesIn(formsOf(en[key])[form] ?? formsOf(en[key]).other ?? ""))), `${tag} has the same {names}`);
  none(ofItself.filter((key) => !table[key]?.trim()), `${tag} says whose translation it is and how much of it is missing`);
  const page = Object.keys(en).filter((key) => /^(home|plain|caution|dose|term|area|fault|consent|round|transfer|calendar|drill)\./.test(key) && !(key in drillWords));
  const lacks = page.filter((key) => !(key in table));
  none(lacks.length < page.length / 20 ? [] : lacks, `${tag} has the words of a student's page, all but ${lacks.length} of ${page.length}`);
  console.log(`        ${tag}: ${Object.keys(en).filter((key) => !(key in table)).length} of ${Object.keys(en).length} messages are English still`);
}
const list = JSON.parse(readFileSync(join(process.argv[2] ?? "build", "joined/words/languages.json"), "utf8"));
none([...languages.filter((tag) => !list[tag]?.name), ...Object.entries(list).filter(([, { direction }]) => !["ltr", "rtl"].includes(direction)).map(([tag]) => tag)],
  "the list of languages names each, and which way it is written");

// What the build makes of them is what is served, the shipped drills' sentences with it, by which a page knows them from the club's own.
for (const [tag, table] of [["en", en], ["de", de], ...Object.entries(partial)]) {
  const made = Object.assign({}, ...[tag, ...(tag === "en" ? ["drills"] : [])].map((name) => JSON.parse(readFileSync(join(process.argv[2] ?? "build", `joined/words/${name}.json`), "utf8"))));
  none([...Object.keys({ ...table, ...made })].filter((key) => JSON.stringify(made[key]) !== JSON.stringify(table[key])), `the build's table (${tag}) is the sources'`);
}
none(Object.keys(drillWords).length > 80 ? [] : ["few of the drills' were found"], `${Object.keys(drillWords).length} sentences of the shipped drills among them`);

// What students read: short sentences of everyday words; a word of the trade only where the sheet itself explains it.
const forStudents = /^(home|plain(?!\.side)|caution|dose|term|area|student\.dose|round|transfer(?!\.limits)|consent|calendar|flight(?=\.(left|right|straight)$))\b/;
const LONGEST = { sheet: 20, drill: 25 }; // words of a sentence; a drill's may tell a place, a moment and a thing
const sentencesOf = (table, room) => Object.entries(table).filter(([key]) => room.test(key)).flatMap(([key, text]) => Object.values(formsOf(text))
  .flatMap((form) => form.replace(/\{\w+\}\p{L}*/gu, " ").split(/(?<=[.!?])\s+/)).map((sentence) => ({ key, words: sentence.toLowerCase().match(/\p{L}+(?:['’]\p{L}+)*/gu) ?? [] }))).filter(({ words }) => words.length);
for (const [tag, table] of [["en", en], ["de", de]]) {
  const basic = new Set(read(`tests/data/words/basic.${tag}.txt`).split("\n").filter((line) => line && !line.startsWith("#")));
  const explained = Object.keys(table).filter((key) => /^term\.|^round\.(thin|topped|fat|heel|toe)$/.test(key)).flatMap((key) => table[key].split(":")[0].toLowerCase().split(/[ ,]+/));
  const groups = [["a student's sheet", sentencesOf(table, forStudents), LONGEST.sheet], ["the drills", sentencesOf(tag === "en" ? drillWords : table, /^drill\.[^.]+\.(?!level$)/), LONGEST.drill]];
  for (const [what, all, longest] of groups) {
    const strange = all.flatMap(({ key, words }) => words.filter((word) => !basic.has(word) && !explained.some((term) => word === term || (term.length > 4 && word.startsWith(term)))).map((word) => `${word} (${key})`));
    none(strange, `${what}: words that everybody knows, or that the sheet explains (${tag}; ${all.length} sentences)`);
    const mean = all.reduce((sum, { words }) => sum + words.length, 0) / all.length;
    none(all.length > 100 && mean <= 15 ? [] : [mean.toFixed(1)], `${what}: ${mean.toFixed(1)} words each (${tag})`);
    none(all.filter(({ words }) => words.length > longest).map(({ key, words }) => `${key} ${words.length}`), `${what}: none is longer than ${longest} words (${tag})`);
  }
  none(FAULTS.filter((fault) => !/^\P{N}+\.$/u.test(table[`plain.${fault}`] ?? "")), `and each fault is one sentence without a number (${tag})`);
}

// An error is never told to be nothing.
globalThis.navigator ??= { language: "en" };
const { margin } = await import("../../server/pages/lib/units.js");
none(["deg", "m", "%", "count", ""].filter((unit) => !/[1-9]/.test(margin(1e-9, unit))), "an error is told to be at least the smallest step that is written");

// The files they are made of.
const written = tables.flatMap((path) => [...read(path).matchAll(/^ {2}"([^"]+)":/gm)].map((found) => `${path.split("/").at(-2)} ${found[1]}`));
written.push(...Object.keys(drillWords).map((key) => `en ${key}`));
none(written.filter((key, i) => written.indexOf(key) !== i), "no key is written twice");
none([["en", en], ["de", de], ...Object.entries(partial)].filter(([tag, table]) => written.filter((key) => key.startsWith(`${tag} `)).length !== Object.keys(table).length)
  .map(([tag]) => tag), "every message stands on a line of its own");
const worker = readFileSync(join(process.argv[2] ?? "build", "joined/worker.js"), "utf8");
none(languages.filter((tag) => !worker.includes(`"/words/${tag}.json"`)), "every language is kept for a range without network");

// What the pages ask for, comments aside.
const bare = (text) => text.replace(/^\s*(\/\/|\/\*\*|\*).*$/gm, "");
const scripts = below("server/pages", ".js").map((path) => ({ path, text: bare(read(path)) }));
const documents = below("server/pages", ".html").map(read).join("\n");
const rooms = new Set(Object.keys(en).map((key) => key.split(".")[0]));
const literals = scripts.flatMap(({ text }) => [...text.matchAll(/"(\w+\.[\w.]+)"/g)].map((found) => found[1]))
  .filter((word) => rooms.has(word.split(".")[0]) && !/\.(js|css|html|svg)$/.test(word));
const marked = [...documents.matchAll(/\bdata-(?:say|say-label|say-hint|title)="([^"]+)"/g)].map((found) => found[1]);
none(new Set([...literals, ...marked].filter((key) => !(key in en) && !ofItself.includes(key))), `each of ${new Set([...literals, ...marked]).size} keys that pages name is in the table`);
none(scripts.flatMap(({ text }) => [...text.matchAll(/\bsay\("([^"]+)"/g)].map((found) => found[1])).filter((key) => !(key in en) && !ofItself.includes(key)), "so is each that is said outright");

// Whatever names a fault says that it is contested, where it is: by faultName of lib/speech.js. A student's page has a sentence for it.
none(scripts.filter(({ path, text }) => !["server/pages/lib/speech.js", "server/pages/home/drills.js"].includes(path) && text.includes("say(`fault.${")).map(({ path }) => path), "no page names a fault without saying whether it is contested");
none(["isContested(", "home.contested"].filter((part) => !read("server/pages/home/drills.js").includes(part)), "nor does a student's");

const trade = {
  fault: FAULTS, checkpoint: CHECKPOINTS, view: VIEWS, club: CLUBS.map((club) => club.kind), part: byPart([]).map(([part]) => part), point: VIEWS.flatMap((kind) => Object.values(asked(kind))).flat(),
};
none(new Set(Object.entries(trade).flatMap(([room, names]) => names.map((name) => `${room}.${name}`)).filter((key) => !(key in en))),
  "every fault, checkpoint, view, club, part of the swing and point has its words");

// What the program says itself.
const c = below("server", ".c").map((path) => bare(read(path))).join("\n");
const said = [...c.matchAll(/\bwords_say\((?:&\w+|[\w>-]+),\s*([^;]*?)(?:, "|, NULL\))/g)].flatMap(([, keys]) => [...keys.matchAll(/"(\w+\.[\w.]+)"/g)].map((found) => found[1]));
none(said.length > 40 ? new Set(said.filter((key) => !(key in en))) : ["too few keys were found"], `each of ${new Set(said).size} keys that the program names is in the table`);

// Lists whose members end a key: ROLES.map((r) => … say(`role.${r}`)), the list written there or by name in the same file.
const listOf = (text, name) => (name.startsWith("[") ? name : new RegExp(`const ${name} = (\\[[^\\]]*\\])`).exec(text)?.[1] ?? "");
const ended = scripts.flatMap(({ text }) => [...text.matchAll(/(\[[^\]]*\]|\b[A-Z]{2,}\b)(?:\.map\(|, )\((\w+)\) =>(?:(?! => ).)*?say\(`([\w.]+\.)\$\{\2\}`/g)]
  .flatMap(([, list, , beginning]) => [...listOf(text, list).matchAll(/"([^"]+)"/g)].map((found) => beginning + found[1])));
none(ended.length ? new Set(ended.filter((key) => !(key in en))) : ["no list was found"], `and each of ${ended.length} that a list of names makes`);

// A key is used when a page names it, or makes it of a beginning (`fault.${id}`) and an end that is one of the trade's names,
// stands in that very file, or is what the server (or the link to it) answers; or when it is a named key with an end (`${key}.why`).
// The program's own speakers name a key ("score.work"), or a beginning ("fault.", "report.leave.%s") whose end it answers elsewhere.
const answers = [...below("core", ".c"), ...below("core", ".h"), ...below("server", ".c"), "server/pages/lib/api.js", "server/embed.cmake"].map(read).join("\n");
// What the server refuses with a status that a page can meet, it is said in the reader's language.
const refusals = below("server", ".c").flatMap((path) => [...read(path).matchAll(/\b(?:exchange_problem|write_refuse|reply_refuse)\(\s*[\w>.-]+,\s*(\w+),\s*"([a-z-]+)"/g)])
  .filter(([, status]) => !/^(40[05]|41[345]|428|50\d)$/.test(status)).map(([, , slug]) => slug);
none(refusals.length > 60 ? new Set(refusals.filter((slug) => !(`problem.${slug}` in de))) : ["few refusals were found"], `each of ${new Set(refusals).size} refusals that a page can meet has its words`);

const named = new Set([...literals, ...marked]);
const made = scripts.flatMap(({ text }) => [...text.matchAll(/`([\w.]+\.)\$\{/g)].map((found) => ({ beginning: found[1], text })));
const added = scripts.flatMap(({ text }) => [...text.matchAll(/say\(`\$\{\w+\}(\.\w+)`/g)].map((found) => ({ end: found[1], text })));
const escaped = (word) => word.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
const spoken = new Set([...answers.matchAll(/"([a-z][\w.]*\.)(?:%s)?"/g)].map((found) => found[1]));
const spokenBy = (key) => answers.includes(`"${key}"`) || [...spoken].some((beginning) => key.startsWith(beginning) && answers.includes(`"${key.slice(beginning.length)}"`));
const used = (key) => spokenBy(key) || named.has(key) || key in drillWords || made.some(({ beginning, text }) => {
  if (!key.startsWith(beginning)) return false;
  const end = key.slice(beginning.length);
  const here = trade[beginning.slice(0, -1)]?.includes(end) ?? new RegExp(`(?<![\\w.])${escaped(end)}(?!\\w)`).test(text);
  return !end.includes(".") && (here || answers.includes(`"${end}"`));
}) || added.some(({ end, text }) => key.endsWith(end) && text.includes(`"${key.slice(0, -end.length)}"`));
none(Object.keys(en).filter((key) => !used(key)), `each of ${Object.keys(en).length} keys is used by a page or the program`);

console.log(`words: ${count.passed} passed, ${count.failed} failed, 0 skipped`);
process.exit(count.failed ? 1 : 0);
