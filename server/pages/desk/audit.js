// Who did what, newest first: in words where there are some, whose it is, and which fields of a child's age were changed.

import { all, call } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { joined, moment } from "../lib/units.js";
import { say } from "../lib/words.js";

const VERBS = ["create", "update", "erase", "read", "list", "export", "import", "give", "withdraw", "put", "add", "remove", "end", "replace", "link", "join", "password",
  "done", "open", "close", "change", "see", "resume", "confirm", "start", "on", "off", "recover", "revoke", "renew", "restore", "ship", "accept", "decline", "leave", "move"];
const NOUNS = ["account", "calendar", "club", "consent", "device", "drill", "fix", "handover", "homework", "homework_done", "inbox", "lesson", "list", "markers", "note", "opinion", "report", "retest", "second_factor", "session", "standard", "still", "student", "swing", "team"];
const NAMED = ["birth_date", "birth_year", "junior"];

/** names: of the accounts, by id. */
function deed(row, names) {
  const maker = row.detail?.made_by;
  const verb = row.action.split(".").pop();
  const fields = (row.detail?.fields ?? []).filter((name) => NAMED.includes(name));
  return [VERBS.includes(verb) ? say(`desk.verb.${verb}`) : say("desk.verb.other"),
    maker ? el("div", { class: "hint" }, say("desk.audit.link_by", { name: names.get(maker) ?? "–" })) : null,
    fields.length ? el("div", { class: "hint" }, joined(fields.map((name) => say(`desk.named.${name}`)))) : null];
}

const thing = (row) => (NOUNS.includes(row.entity) ? say(`desk.noun.${row.entity}`) : "");

export async function auditRoom(place) {
  const names = new Map((await all("/v1/accounts?limit=200", "accounts")).map((account) => [account.id, account.name]));
  const students = new Map((await all("/v1/students?limit=200", "students")).map((student) => [student.id, student.name]));
  const whose = (row) => (students.has(row.student_id) ? el("a", { href: `#story/${row.student_id}` }, students.get(row.student_id)) : "");
  const body = el("tbody");
  let next = "/v1/audit?limit=100";
  const more = el("button", { type: "button", onclick: () => load() }, say("desk.audit.more"));
  async function load() {
    const page = await call("GET", next);
    body.append(...page.data.audit.map((row) => el("tr", {},
      el("td", {}, moment(row.at)), el("td", {}, names.get(row.account_id) ?? "–"),
      el("td", {}, deed(row, names)), el("td", {}, thing(row)), el("td", {}, whose(row)))));
    next = page.next;
    more.hidden = !next;
  }
  await load();
  show(place, el("h2", {}, say("desk.audit")),
    el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.audit") },
      el("table", {}, el("thead", {}, el("tr", {}, ["at", "who", "what", "kind", "whose"].map((head) => el("th", { scope: "col" }, say(`desk.audit.${head}`))))), body)),
    el("p", {}, more));
}
