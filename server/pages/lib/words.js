// One table of messages: /words/en.json and the like, which the server speaks from too (server/words); /words/languages.json says
// which there are and which way each is written. English is complete and fills what another language leaves out. Nothing is said
// before speak() has brought the table.

const KEPT = "leadside.language";
const RETRY_MS = 1000;

/** Each language's tag: {name, direction}. */
export let languages = {};
let en = {};
let drills = {}; // the English of the shipped ones' sentences, where it is not what is read
let table = en;
export let language = "en";

function wanted() {
  const kept = localStorage.getItem(KEPT);
  const asked = kept ? [kept] : navigator.languages ?? ["en"];
  return asked.map((tag) => tag.slice(0, 2)).find((tag) => tag in languages) ?? "en";
}

/** What may be of another script stands by itself in a text that is written from right to left: its full stop stays at its end. */
export const apart = (text) => (languages[language]?.direction === "rtl" ? `\u2068${text}\u2069` : String(text));

/** The message of a key, its {names} filled in; a form by number is an object {one, other} chosen by {n}. */
export function say(key, values = {}) {
  let text = table[key] ?? en[key];
  if (text === undefined) return key;
  if (typeof text === "object") text = text[new Intl.PluralRules(language).select(values.n)] ?? text.other;
  const told = text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? apart(values[name]) : whole));
  return key in table ? told : apart(told);
}

/** A shipped drill's sentence in the reader's language; what the club has written or changed stays as it is. */
export const translated = (key, text) => (text ? (drills[key] === text && table[key]) || apart(text) : text);

/** A phrase at the beginning of a sentence. */
export const capital = (text) => text.replace(/^\u2068*./u, (first) => first.toLocaleUpperCase(language));

/** Fills every element that carries data-say (text), data-say-label (its name) or data-say-hint (placeholder). */
function sayPage(root = document) {
  for (const node of root.querySelectorAll("[data-say]")) node.textContent = say(node.dataset.say);
  for (const node of root.querySelectorAll("[data-say-label]")) node.setAttribute("aria-label", say(node.dataset.sayLabel));
  for (const node of root.querySelectorAll("[data-say-hint]")) node.setAttribute("placeholder", say(node.dataset.sayHint));
  const title = document.documentElement.dataset.title;
  if (title) document.title = `${say(title)} · Leadside`;
}

/** The page shows itself in the words it is to keep: drawn before, everything would move when they come (leadside.css). */
const reveal = () => document.documentElement.classList.add("spoken");

/** Tried until it is there; the page's own English stands meanwhile. A page that is being left ends it. */
async function fetched(tag) {
  for (;;) {
    try {
      const answer = await fetch(`/words/${tag}.json`);
      if (answer.ok) return await answer.json();
    } catch {
      // no network, or the page is being left
    }
    reveal();
    await new Promise((again) => setTimeout(again, RETRY_MS));
  }
}

/** A language that nobody has looked over says so, and how much of it is English still. */
function sayOrigin() {
  if (!table["language.note"]) return;
  const all = Object.keys(en);
  const line = document.createElement("aside");
  line.id = "translation";
  line.className = "hint no-print";
  line.textContent = `${table["language.note"]} ${say("language.missing", { n: all.filter((key) => !(key in table)).length, of: all.length })}`;
  document.querySelector("main").before(line);
}

/** Loads the reader's language and fills the page. Every page calls it first. */
export async function speak() {
  [languages, en] = await Promise.all(["languages", "en"].map(fetched));
  language = wanted();
  table = en;
  if (language !== "en") [table, drills] = await Promise.all([language, "drills"].map(fetched));
  document.documentElement.lang = language;
  document.documentElement.dir = languages[language].direction;
  sayPage();
  sayOrigin();
  reveal();
}

export function choose(tag) {
  localStorage.setItem(KEPT, tag);
  location.reload();
}

/** What the page calls the control (or the group of them) that carries the name a path of the interface begins with. */
function labelOf(path) {
  const control = path && document.querySelector(`main [name="${/^\w*/.exec(path)[0]}"]`);
  return (control?.labels?.[0] ?? control?.querySelector("legend"))?.textContent;
}

/** The words of a problem. To an English reader the server itself says best what is wrong with a value, or what has no words
 * here. Of a field by its label. */
export function sayProblem({ slug, path, message, retryAfter }) {
  if (!slug) return message || say("problem.unknown");
  const refused = slug === "invalid" && ["new", "password"].includes(path);
  const key = `problem.${refused ? "password-refused" : slug}`;
  const named = slug === "conflict" || (slug.startsWith("invalid") && !refused);
  const plain = language === "en" && message && (!(key in en) || (named && slug !== "conflict"));
  const told = plain ? message.replace(`${path}: `, "") : say(key in en ? key : "problem.unknown", { seconds: retryAfter ?? 5 });
  const label = named ? labelOf(path) : null;
  return label ? `${label}: ${told}` : told;
}
