// Who did what, newest first: with what, and whose it is; of one student or one account where the address names it.

import { call, get } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { actButton } from "../lib/forms.js";
import { joined, moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { roll } from "./roll.js";

const VERBS = ["create", "update", "erase", "read", "list", "export", "import", "give", "withdraw", "put", "add", "remove", "end", "replace", "link", "join", "password",
  "done", "open", "close", "change", "see", "resume", "confirm", "start", "on", "off", "recover", "revoke", "renew", "restore", "ship", "accept", "decline", "leave", "move", "back", "try", "rescore", "stop"];
const NOUNS = ["account", "calendar", "club", "consent", "device", "drill", "fix", "handover", "homework", "homework_done", "inbox", "lesson", "list", "markers", "note", "opinion", "report", "retest", "second_factor", "session", "standard", "still", "student", "swing", "team"];
const NAMED = ["birth_date", "birth_year", "junior", "name", "hand", "sex", "height_m", "handicap", "tendencies", "pain", "pain_note", "wants", "archived", "member_number", "email", "phone"];
const SCOPES = ["store_pictures", "share_with_club", "teach_with"];

const WHOLE = { "session.create": "desk.deed.signIn", "session.end": "desk.deed.signOut", "session.confirm": "desk.verb.confirm",
  "homework.withdraw": "desk.deed.untick", "opinion.change": "desk.deed.opinion", "consent.ask": "desk.deed.ask" }; // said in one, of nothing besides

/** names: of the accounts, by id. */
function deed({ action, detail }, names) {
  const verb = action.split(".").pop();
  const fields = (detail?.fields ?? []).filter((name) => NAMED.includes(name));
  const more = [detail?.made_by ? say("desk.audit.link_by", { name: names.get(detail.made_by) ?? "–" }) : null,
    fields.length ? joined(fields.map((name) => say(`desk.named.${name}`))) : null,
    SCOPES.includes(detail?.scope) ? say(`consent.${detail.scope}`) : null].filter(Boolean);
  return [WHOLE[action] ? say(WHOLE[action]) : VERBS.includes(verb) ? say(`desk.verb.${verb}`) : say("desk.verb.other"), more.map((text) => el("div", { class: "hint" }, text))];
}

const thing = (row) => (!WHOLE[row.action] && NOUNS.includes(row.entity) ? say(`desk.noun.${row.entity}`) : "");

/** The names of the accounts that a page of the list speaks of; each is asked for once. Who was erased has none. */
async function learn(names, ids) {
  await Promise.all([...new Set(ids)].filter((id) => id && !names.has(id)).map(async (id) => {
    names.set(id, null);
    try {
      names.set(id, (await get(`/v1/accounts/${id}`)).name);
    } catch (problem) {
      if (problem.status !== 404) throw problem;
    }
  }));
}

export async function auditRoom(place, id, asked) {
  const { coaches } = await get("/v1/overview?limit=1");
  const names = new Map(coaches.map((coach) => [coach.account_id, coach.name]));
  const students = new Map();
  const only = new URLSearchParams([...asked].filter(([name]) => ["student", "account"].includes(name)));
  const body = el("tbody");
  const whose = (row) => (row.student_id ? el("a", { href: `#story/${row.student_id}` }, students.get(row.student_id) ?? say("desk.noun.student")) : "");
  const fill = ({ rows }) => { // the names come from the roll: to read a record for its name would be a row of this very list
    for (const row of rows) students.set(row.student_id, row.name);
    for (const link of body.querySelectorAll("a")) link.textContent = students.get(link.hash.split("/")[1]) ?? link.textContent;
  };
  let next = `/v1/audit?limit=50&${only}`;
  const load = async () => {
    const page = await call("GET", next);
    const rows = page.data.audit;
    await learn(names, rows.flatMap((row) => [row.account_id, row.detail?.made_by]));
    const cells = (row) => ({ at: moment(row.at), who: row.account_id ? names.get(row.account_id) ?? say("desk.audit.gone") : say("desk.audit.program"), what: deed(row, names), kind: thing(row), whose: whose(row) });
    body.append(...rows.map((row) => el("tr", {}, Object.entries(cells(row)).map(([head, said]) => el("td", { "data-head": say(`desk.audit.${head}`) }, said)))));
    next = page.next;
    more.hidden = !next;
  };
  const more = actButton("more", say("desk.audit.more"), load);
  await load();
  show(place, el("h2", {}, say("desk.audit")), only.size ? el("p", {}, el("a", { class: "button quiet", href: "#audit" }, say("desk.audit.all"))) : null,
    el("div", { class: "wide whole", tabindex: "0", role: "region", "aria-label": say("desk.audit") },
      el("table", { class: "rows" }, el("thead", {}, el("tr", {}, ["at", "who", "what", "kind", "whose"].map((head) => el("th", { scope: "col" }, say(`desk.audit.${head}`))))), body)),
    el("p", {}, more));
  await roll(place, fill);
}
