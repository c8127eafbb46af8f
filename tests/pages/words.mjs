// The message tables: every server/words/<language>/*.json in one, and in English the shipped drills' own sentences, which the build
// keeps in a file of their own.
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";

const folder = fileURLToPath(new URL("../../server/words", import.meta.url));

export const languages = readdirSync(folder, { withFileTypes: true }).filter((entry) => entry.isDirectory()).map((entry) => entry.name);
export const tables = languages.flatMap((tag) => readdirSync(`${folder}/${tag}`).filter((name) => name.endsWith(".json")).map((name) => `server/words/${tag}/${name}`));

const shipped = JSON.parse(readFileSync(new URL("../../server/standard/drills.json", import.meta.url), "utf8")).drills;
export const drillWords = Object.fromEntries(shipped.flatMap((drill) => ["name", "how_to", "feel", "cautions", "entry", "easier", "why", "pass"].filter((part) => part in drill)
  .map((part) => [`drill.${drill.id}.${part}`, drill[part].what ?? drill[part]])));

const joined = (tag) => Object.assign({}, ...tables.filter((path) => path.startsWith(`server/words/${tag}/`))
  .map((path) => JSON.parse(readFileSync(new URL(`../../${path}`, import.meta.url), "utf8"))));

export const en = { ...joined("en"), ...drillWords };
export const de = joined("de");
/** The languages that say so of themselves: made by a machine, in part. */
export const partial = Object.fromEntries(languages.map((tag) => [tag, joined(tag)]).filter(([, table]) => table["language.note"]));
