// Who did what, newest first.

import { all, call } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { moment } from "../lib/units.js";
import { say } from "../lib/words.js";

export async function auditRoom(place) {
  const names = new Map((await all("/v1/accounts?limit=200", "accounts")).map((account) => [account.id, account.name]));
  const body = el("tbody");
  let next = "/v1/audit?limit=100";
  const more = el("button", { type: "button", onclick: () => load() }, say("desk.audit.more"));
  async function load() {
    const page = await call("GET", next);
    body.append(...page.data.audit.map((row) => el("tr", {},
      el("td", {}, moment(row.at)), el("td", {}, names.get(row.account_id) ?? row.account_id ?? "–"),
      el("td", {}, row.action, row.made_by ? ` (${say("desk.audit.link_by", { name: names.get(row.made_by) ?? row.made_by })})` : ""), el("td", {}, row.entity ?? ""))));
    next = page.next;
    more.hidden = !next;
  }
  await load();
  show(place, el("h2", {}, say("desk.audit")),
    el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.audit") },
      el("table", {}, el("thead", {}, el("tr", {}, ["at", "who", "what", "kind"].map((head) => el("th", { scope: "col" }, say(`desk.audit.${head}`))))), body)),
    el("p", {}, more));
}
