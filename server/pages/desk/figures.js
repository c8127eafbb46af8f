// The club's figures between two days, by month or by coach, to be printed. Coaches stand by name: nobody is ranked.

import { get } from "../lib/api.js";
import { el, field, show } from "../lib/dom.js";
import { actButton, fail } from "../lib/forms.js";
import { faultName } from "../lib/speech.js";
import { byName, day, month, number } from "../lib/units.js";
import { capital, say } from "../lib/words.js";

const COUNTS = ["students", "lessons", "swings", "fixes_opened", "fixes_ended", "sessions_done"];
const BY = ["month", "coach"];
const YEAR_MS = 365 * 86400000;
const DAY_MS = 86400000;

const dayOf = (at) => new Date(at).toISOString().slice(0, 10);

function table({ by, figures, total }) {
  const named = by === "coach" ? [...figures].sort((a, b) => byName(a.name ?? "", b.name ?? "")) : figures;
  const line = (name, row) => el("tr", {}, el("th", { scope: "row" }, name), COUNTS.map((count) => el("td", { "data-head": say(`desk.figures.${count}`) }, number(row[count]))));
  return el("table", { class: "rows" }, el("thead", {}, el("tr", {}, [by, ...COUNTS].map((head) => el("th", { scope: "col" }, say(`desk.figures.${head}`))))),
    el("tbody", {}, named.map((row) => line(row.month ? month(row.month) : row.name ?? say("desk.audit.gone"), row)), line(say("desk.figures.total"), total)));
}

export async function figuresRoom(place, id, asked) {
  const from = el("input", { type: "date", name: "from", value: asked.get("from") ?? dayOf(Date.now() - YEAR_MS) });
  const to = el("input", { type: "date", name: "to", value: asked.get("to") ?? dayOf(Date.now()) });
  const by = el("select", { name: "by" }, BY.map((one) => el("option", { value: one }, say(`desk.figures.${one}`))));
  const result = el("div");
  by.value = asked.get("by") === "coach" ? "coach" : "month";
  const load = async () => {
    if (!from.value || !to.value) return;
    const after = new Date(Date.parse(to.value) + DAY_MS).toISOString();
    const told = await get(`/v1/figures?by=${by.value}&from=${from.value}T00:00:00Z&to=${after}`);
    history.replaceState(history.state, "", `#figures?${new URLSearchParams({ from: from.value, to: to.value, by: by.value })}`);
    show(result, el("p", {}, say("desk.figures.between", { from: day(from.value), to: day(to.value) })),
      el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.figures") }, table(told)),
      el("h3", {}, say("desk.coach.faults")), el("ul", {}, [...told.total.faults].sort((a, b) => b.fixes - a.fixes).map((item) => el("li", {}, `${capital(faultName({ fault: item.fault }))}: ${number(item.fixes)}`))));
  };
  for (const control of [from, to, by]) control.addEventListener("change", () => load().catch(fail));
  show(place, el("h2", {}, say("desk.figures")), el("div", { class: "filters no-print" }, field(say("desk.figures.from"), from), field(say("desk.figures.to"), to), field(say("desk.figures.by"), by)), result,
    el("p", {}, actButton("print", say("desk.figures.print"), () => window.print())));
  await load();
}
