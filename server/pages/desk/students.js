// Every coach's students in one table: search, filters and order stand in the address, so that they are there again on the way
// back; a hundred rows at a time.

import { all } from "../lib/api.js";
import { el, field, show } from "../lib/dom.js";
import { faultName } from "../lib/speech.js";
import { day, daysSince, joined, number } from "../lib/units.js";
import { capital, say } from "../lib/words.js";
import { beginPart } from "./begin.js";
import { keepList, roll, rollStands } from "./roll.js";
import { sheetPart } from "./sheet.js";
import { sparkOf } from "./spark.js";
import { TESTS } from "./tests.js";

const PAGE = 100;
const ARCHIVED = "archived"; // a list of its own

/** What a column is sorted by; what has nothing to be sorted by comes last, whichever way. */
const COLUMNS = {
  name: (row) => row.rank,
  coaches: (row) => row.coachNames.join(", ") || null,
  fault: (row) => row.faults.join(", ") || null,
  since: (row) => row.oldest_fix,
  seen: (row) => row.seen,
  retest: (row) => row.retest_at,
};

const option = (value, text) => el("option", { value }, text);

function cells(row) {
  return {
    coaches: row.coachNames.join(", ") || (row.archived ? "–" : el("strong", {}, say("desk.nobody"))),
    fault: row.faults.length ? [capital(joined(row.faults.map((fault) => faultName({ fault })))), sparkOf(row)] : "–",
    since: row.oldest_fix ? say("desk.days", { n: daysSince(row.oldest_fix) }) : "–",
    seen: row.archived ? say("desk.archivedSince", { day: day(row.archived) }) : row.seen ? day(row.seen) : say("desk.never"),
    retest: row.retest_due ? el("strong", {}, say("desk.due")) : row.retest_at ? day(row.retest_at) : "–",
  };
}

/** What is to be known beside the name. */
const marks = (row) => [
  row.comes_of_age ? say("desk.ofAge", { day: day(row.comes_of_age) }) : null,
  row.pain.length ? capital(say("desk.sore", { areas: joined(row.pain.map((area) => say(`area.${area}`))) })) : null,
  row.paused_drills ? say("desk.paused", { n: row.paused_drills }) : null,
].filter(Boolean).map((text) => el("div", { class: "hint" }, text));

function tableRow(row) {
  const said = cells(row);
  return el("tr", {}, el("th", { scope: "row" }, el("a", { href: `#story/${row.student_id}` }, row.name), row.member_number ? el("div", { class: "hint" }, row.member_number) : null, marks(row)),
    Object.keys(COLUMNS).slice(1).map((name) => el("td", { "data-head": say(`desk.column.${name}`) }, said[name])));
}

/** Students no longer looked after, in the roll's form. */
async function archivedRows() {
  const students = await all("/v1/students?archived=true&limit=200", "students");
  return students.map((student, i) => ({ ...student, student_id: student.id, rank: i, sought: `${student.name} ${student.member_number ?? ""}`.toLocaleLowerCase(), team: [], coachNames: [], faults: [],
    oldest_fix: null, seen: null, retest_at: null, retest_due: false, paused_drills: 0, comes_of_age: null }));
}

/** Rows in the order of a column. */
function sorted(rows, column, down) {
  const key = COLUMNS[column];
  const sign = down ? -1 : 1;
  return rows.map((row) => [key(row), row]).sort(([a, x], [b, y]) => {
    if (a === b) return x.rank - y.rank;
    if (a === null || b === null) return a === null ? 1 : -1;
    return a < b ? -sign : sign;
  }).map(([, row]) => row);
}

/** The row of filters; asked: what the address says. changed: called after each change. */
function filterBar(asked, changed) {
  const search = el("input", { name: "name", type: "search", autocomplete: "off", value: asked.get("name") ?? "" });
  const coach = el("select", { name: "coach" });
  const fault = el("select", { name: "fault" });
  const test = el("select", { name: "test" }, option("", say("desk.all")), [...Object.keys(TESTS), ARCHIVED].map((name) => option(name, say(`desk.test.${name}`))));
  const controls = [search, coach, fault, test];
  for (const control of controls) control.addEventListener("input", changed);
  test.value = asked.get("test") ?? "";
  const fill = (select, choices) => {
    const now = select.value || asked.get(select.name) || "";
    show(select, option("", say("desk.all")), choices);
    select.value = now;
  };
  const offer = ({ coaches, rows }) => {
    fill(coach, coaches.map((one) => option(one.account_id, one.disabled ? say("desk.outOfUse", { name: one.name }) : one.name)));
    fill(fault, [...new Set(rows.flatMap((row) => row.faults))].sort().map((name) => option(name, capital(faultName({ fault: name })))));
  };
  const node = el("div", { class: "filters" }, field(say("desk.search"), search), field(say("desk.coach"), coach), field(say("desk.fault"), fault), field(say("desk.test"), test));
  return { node, controls, offer, values: () => Object.fromEntries(controls.map((control) => [control.name, control.value.trim()])) };
}

const fits = (row, { name, coach, fault, test }, off) => (!name || row.sought.includes(name.toLocaleLowerCase())) && (!coach || row.team.includes(coach)) &&
  (!fault || row.faults.includes(fault)) && (!TESTS[test] || TESTS[test](row, off));

export async function studentsRoom(place, id, asked) {
  const body = el("tbody");
  const told = el("p", { role: "status" });
  const pages = el("div", { class: "row" });
  const state = { sort: Object.hasOwn(COLUMNS, asked.get("sort") ?? "") ? asked.get("sort") : "name", down: asked.has("down"), page: Number(asked.get("page")) || 1 };
  let list = { coaches: [], rows: [], off: new Set(), whole: false };
  let archived = null;
  let query = asked.size ? `?${asked}` : "";
  const sheet = sheetPart(body, () => query, id);
  const heads = new Map(Object.keys(COLUMNS).map((name) => [name, el("th", { scope: "col" },
    el("button", { type: "button", onclick: () => draw({ sort: name, down: state.sort === name && !state.down, page: 1 }) }, say(`desk.column.${name}`)))]));
  const bar = filterBar(asked, () => {
    if (bar.values().test !== ARCHIVED || archived) draw({ page: 1 });
    else archivedRows().then((rows) => { archived = rows; draw({ page: 1 }); }).catch(() => draw({ page: 1 }));
  });

  function keepAddress(filters) {
    const said = new URLSearchParams(Object.entries(filters).filter(([, value]) => value));
    if (state.sort !== "name") said.set("sort", state.sort);
    if (state.down) said.set("down", "1");
    if (state.page > 1) said.set("page", String(state.page));
    query = said.size ? `?${said}` : "";
    keepList(`#students${query}`);
    history.replaceState(history.state, "", sheet.address());
  }

  function turn(label, by, disabled) {
    const go = () => {
      draw({ page: state.page + by });
      told.scrollIntoView({ block: "start" });
    };
    return el("button", { type: "button", class: "quiet", disabled, onclick: go }, label);
  }

  function draw(change = {}) {
    Object.assign(state, change);
    const filters = bar.values();
    const rows = filters.test === ARCHIVED ? archived ?? [] : list.rows;
    const shown = sorted(rows.filter((row) => fits(row, filters, list.off)), state.sort, state.down);
    const last = Math.max(1, Math.ceil(shown.length / PAGE));
    state.page = Math.min(Math.max(1, state.page), list.whole ? last : state.page);
    const from = (state.page - 1) * PAGE;
    body.replaceChildren(...shown.slice(from, from + PAGE).map(tableRow));
    sheet.mark();
    told.textContent = say(list.whole ? "desk.count" : "desk.count.more", { n: number(shown.length), of: number(rows.length) });
    show(pages, last > 1 ? [turn(say("desk.before"), -1, state.page <= 1), say("desk.page", { n: state.page, of: last }), turn(say("desk.after"), 1, state.page >= last)] : list.whole && list.rows.length === 0 && filters.test !== ARCHIVED ? beginPart() : "");
    for (const [name, head] of heads) head.setAttribute("aria-sort", name === state.sort ? (state.down ? "descending" : "ascending") : "none");
    if (place.isConnected && list.whole) keepAddress(filters);
  }

  show(place, el("h2", {}, say("desk.students")), bar.node, el("div", { class: "row" }, told, el("a", { class: "button quiet end", href: "#import" }, say("desk.import"))), el("div", { class: "beside" },
    el("div", { class: "wide whole", tabindex: "0", role: "region", "aria-label": say("desk.students") }, el("table", { class: "rows people" }, el("thead", {}, el("tr", {}, [...heads.values()])), body), pages), sheet.node));
  if (asked.get("test") === ARCHIVED) archived = await archivedRows();
  await roll(place, (now) => {
    list = now;
    bar.offer(list);
    draw();
    place.classList.remove("opening"); // the others may come
  });
  await sheet.open(id);
  return (to, now) => { // another student, or none, beside the same list
    if (now !== query || !rollStands()) return false;
    sheet.open(to);
    return true;
  };
}
