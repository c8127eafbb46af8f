// Every coach's students in one table: search, filters, order. All rows are fetched once; a filter only hides.

import { all, get } from "../lib/api.js";
import { inboxPlace } from "../lib/care.js";
import { el, field, show } from "../lib/dom.js";
import { day, daysSince } from "../lib/units.js";
import { say } from "../lib/words.js";

const FORGOTTEN_DAYS = 28; // nobody has seen them swing
const STUCK_DAYS = 42; // one fix open for so long

const newest = (row) => [row.last_swing, row.last_lesson, row.last_done].filter(Boolean).sort().at(-1) ?? null;

const COLUMNS = [
  ["name", (row) => row.name.toLocaleLowerCase()],
  ["coaches", (row) => row.coachNames.join(", ")],
  ["fault", (row) => row.faults.join(", ")],
  ["since", (row) => row.oldest_fix ?? ""],
  ["seen", (row) => newest(row) ?? ""],
  ["retest", (row) => (row.retest_due ? "0" : "1") + (row.retest_at ?? "")],
];

const TESTS = {
  stuck: (row) => row.oldest_fix !== null && daysSince(row.oldest_fix) >= STUCK_DAYS,
  forgotten: (row) => newest(row) === null || daysSince(newest(row)) >= FORGOTTEN_DAYS,
  unfixed: (row) => row.open_fixes === 0,
  retest: (row) => row.retest_due,
  ofAge: (row) => row.comes_of_age !== null,
};

function option(value, text) {
  return el("option", { value }, text);
}

async function fetchRows() {
  const first = await get("/v1/overview?limit=200");
  const rows = first.students;
  if (rows.length === 200) rows.push(...(await all(`/v1/overview?limit=200&after=${rows.at(-1).student_id}`, "students")));
  const names = new Map(first.coaches.map((coach) => [coach.account_id, coach.name]));
  for (const row of rows) row.coachNames = row.team.map((id) => names.get(id) ?? "?");
  return { rows, coaches: first.coaches };
}

function tableRow(row) {
  const seen = newest(row);
  return el("tr", {},
    el("th", { scope: "row" }, el("a", { href: `#story/${row.student_id}` }, row.name),
      row.comes_of_age ? el("div", { class: "hint" }, say("desk.ofAge", { day: day(row.comes_of_age) })) : null),
    el("td", {}, row.coachNames.join(", ") || say("desk.nobody")),
    el("td", {}, row.faults.map((fault) => say(`fault.${fault}`)).join(", ") || "–"),
    el("td", {}, row.oldest_fix ? say("desk.days", { n: daysSince(row.oldest_fix) }) : "–"),
    el("td", {}, seen ? day(seen) : say("desk.never")),
    el("td", {}, row.retest_due ? el("strong", {}, say("desk.due")) : row.retest_at ? day(row.retest_at) : "–"));
}

export async function studentsRoom(place) {
  const { rows, coaches } = await fetchRows();
  const faults = [...new Set(rows.flatMap((row) => row.faults))].sort();
  const search = el("input", { type: "search", autocomplete: "off" });
  const coach = el("select", {}, option("", say("desk.all")), coaches.map((c) => option(c.account_id, c.name)));
  const fault = el("select", {}, option("", say("desk.all")), faults.map((f) => option(f, say(`fault.${f}`))));
  const test = el("select", {}, option("", say("desk.all")), Object.keys(TESTS).map((t) => option(t, say(`desk.test.${t}`))));
  const body = el("tbody");
  const told = el("p", { role: "status" });
  const heads = new Map();
  const built = new Map(rows.map((row) => [row, tableRow(row)]));
  let order = { column: "name", down: false };

  function draw() {
    const wanted = search.value.trim().toLocaleLowerCase();
    const key = COLUMNS.find(([name]) => name === order.column)[1];
    const shown = rows.filter((row) =>
      (!wanted || row.name.toLocaleLowerCase().includes(wanted)) && (!coach.value || row.team.includes(coach.value)) &&
      (!fault.value || row.faults.includes(fault.value)) && (!test.value || TESTS[test.value](row)));
    shown.sort((a, b) => (key(a) < key(b) ? -1 : key(a) > key(b) ? 1 : 0) * (order.down ? -1 : 1));
    body.replaceChildren(...shown.map((row) => built.get(row)));
    told.textContent = say("desk.count", { n: shown.length, of: rows.length });
    for (const [name, head] of heads) {
      head.setAttribute("aria-sort", name === order.column ? (order.down ? "descending" : "ascending") : "none");
    }
  }

  for (const [name] of COLUMNS) {
    const press = () => {
      order = { column: name, down: order.column === name ? !order.down : false };
      draw();
    };
    heads.set(name, el("th", { scope: "col" }, el("button", { type: "button", onclick: press }, say(`desk.column.${name}`))));
  }
  for (const control of [search, coach, fault, test]) control.addEventListener("input", draw);
  show(place,
    el("h2", {}, say("desk.students")), inboxPlace((id) => `#story/${id}`),
    el("div", { class: "filters" }, field(say("desk.search"), search), field(say("desk.coach"), coach),
      field(say("desk.fault"), fault), field(say("desk.test"), test)),
    told,
    el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.students") },
      el("table", {}, el("thead", {}, el("tr", {}, [...heads.values()])), body)));
  draw();
}
