// Students out of a spreadsheet and into one: a file is looked at first, every bad row named, and taken in whole or not at all.

import { call, newKey } from "../lib/api.js";
import { announce, el, field, show } from "../lib/dom.js";
import { actButton, fail, saveFile } from "../lib/forms.js";
import { number } from "../lib/units.js";
import { say } from "../lib/words.js";
import { forgetRoll } from "./roll.js";

const COLUMNS = ["name", "hand", "sex", "birth_date", "birth_year", "height_m", "handicap", "junior", "wants", "tendencies", "member_number", "email", "phone", "consent_by", "coach"];

const columnName = (column) => (COLUMNS.includes(column) ? say(`desk.named.${column}`) : column);

const badLine = ({ row, column, what }) => el("li", {}, el("strong", {}, say("desk.import.row", { n: row })), ` ${columnName(column)}: `, el("span", { lang: "en" }, what));
const doubleLine = ({ row, name, of_row: above, student_id: id }) => el("li", {}, el("strong", {}, say("desk.import.row", { n: row })), " ",
  id ? el("a", { href: `#story/${id}` }, name) : name, above ? ` ${say("desk.import.asRow", { n: above })}` : "");

/** What a look at the file found. */
const found = (told) => [
  el("p", {}, say("desk.import.found", { n: told.students, rows: number(told.rows) })),
  told.bad_rows ? [el("h3", {}, say("desk.import.bad", { n: told.bad_rows })), el("ul", { class: "bad" }, told.bad.map(badLine))] : null,
  told.double_rows ? [el("h3", {}, say("desk.import.doubles", { n: told.double_rows })), el("ul", {}, told.doubles.map(doubleLine))] : null,
];

export async function importRoom(place) {
  const file = el("input", { type: "file", name: "file", accept: ".csv,text/csv" });
  const result = el("div", { role: "status" });
  const send = (text, query, key) => call("POST", `/v1/import/students${query}`, { body: text, type: "text/csv", key });
  const take = async (text, skip, key) => {
    const { data } = await send(text, skip ? "?doubles=skip" : "", key);
    forgetRoll();
    file.value = "";
    show(result, el("p", {}, say("desk.import.done", { n: data.students })));
    announce(say("desk.import.done", { n: data.students }));
  };
  const look = async () => {
    const [chosen] = file.files;
    if (!chosen) return show(result);
    const text = await chosen.text();
    const { data } = await send(text, "?dry_run=true", newKey());
    const key = newKey();
    const may = data.bad_rows === 0 && data.students > 0;
    return show(result, found(data), may ? el("p", {}, actButton("take", say(data.double_rows ? "desk.import.takeOthers" : "desk.import.take", { n: data.students }), () => take(text, data.double_rows > 0, key), { class: "main" }))
      : el("p", {}, el("strong", {}, say(data.bad_rows ? "desk.import.mend" : "desk.import.nobody"))));
  };
  const save = async () => {
    const answer = await fetch("/v1/export/students.csv", { cache: "no-store" });
    if (!answer.ok) throw Object.assign(new Error(""), { slug: "unknown" });
    saveFile("students.csv", await answer.blob(), "text/csv");
  };
  file.addEventListener("click", () => { // the file that was put right is told as chosen again, though it bears the same name
    file.value = "";
  });
  file.addEventListener("change", () => look().catch((problem) => {
    show(result);
    fail(problem);
  }));
  show(place, el("p", {}, el("a", { class: "button quiet", href: "#students" }, say("common.back"))), el("h2", {}, say("desk.import")), el("p", {}, say("desk.import.how")),
    el("p", {}, actButton("empty", say("desk.import.empty"), async () => saveFile("empty.csv", `\uFEFF${COLUMNS.join(";")}\r\n`, "text/csv"))), field(say("desk.import.file"), file), result,
    el("h3", {}, say("desk.import.out")), el("p", {}, actButton("csv", say("desk.import.save"), save)));
}
