// The house standard: ranges by measure with where each comes from, changed here, tried on the club's swings before it counts.

import { call } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { keepUnsaved } from "./unsaved.js";
import { fullName } from "../lib/measures.js";
import { capital, say, sayProblem } from "../lib/words.js";

const LIMITS = ["strong_low", "ok_low", "ok_high", "strong_high"];

/** "Forward bend at address, fairway wood" */
const nameOf = (rule) => capital([fullName(rule), rule.club && say(`club.${rule.club}`), rule.sex && say(`desk.of.${rule.sex}`),
  rule.age_band && say(`desk.of.${rule.age_band}`)].filter(Boolean).join(", "));
const UNITS = { deg: "°", m: "m", "%": "%" };

/** "Common practice": by the first word of its name. */
const evidence = (rule) => (rule.evidence ? say(`evidence.${rule.evidence.split(" ")[0]}`) : "");

/** A refusal, said of the row it is about. */
function fail(problem, standard) {
  const row = /^ranges\[(\d+)\]/.exec(problem.path ?? "");
  const rule = row && standard?.ranges[Number(row[1])];
  announce(rule ? say("desk.standard.wrong", { row: nameOf(rule) }) : problem.path ? `${problem.path}: ${sayProblem(problem)}` : sayProblem(problem), { urgent: true });
}

/** A limit of a range: empty = none on that side. */
function limitCell(rule, limit) {
  const label = `${nameOf(rule)}, ${say(`desk.standard.${limit}`)}`;
  const input = el("input", { type: "number", step: "any", value: rule[limit] === undefined ? "" : String(rule[limit]), "aria-label": label });
  input.addEventListener("change", () => {
    if (input.value === "") delete rule[limit];
    else rule[limit] = Number(input.value);
  });
  return el("td", {}, input);
}

function rangeTable(standard, units) {
  const heads = ["measure", "unit", ...LIMITS, "evidence"];
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.standard") },
    el("table", {}, el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, say(`desk.standard.${head}`))))),
      el("tbody", {}, standard.ranges.map((rule) => el("tr", {}, el("th", { scope: "row" }, nameOf(rule)), el("td", {}, UNITS[units[rule.measure]] ?? ""),
        LIMITS.map((limit) => limitCell(rule, limit)), el("td", {}, evidence(rule)))))));
}

/** What would change, fault by fault, if this were the standard. */
function trialTable(trial) {
  const rows = trial.faults ?? [];
  return el("table", {}, el("caption", {}, say("desk.standard.trial", { n: trial.swings ?? 0 })),
    el("thead", {}, el("tr", {}, ["fault", "now", "then"].map((head) => el("th", { scope: "col" }, say(`desk.standard.${head}`))))),
    el("tbody", {}, rows.filter((row) => row.present_now !== row.present_then).map((row) => el("tr", {},
      el("th", { scope: "row" }, say(`fault.${row.fault}`)), el("td", {}, String(row.present_now)), el("td", {}, String(row.present_then))))));
}

export async function standardRoom(place) {
  const { data, etag } = await call("GET", "/v1/standard");
  const { standard } = data;
  const label = el("input", { value: standard.version, maxlength: "60" });
  const result = el("div", { role: "status" });
  const whole = el("textarea", { class: "code", spellcheck: false }, JSON.stringify(standard, null, 1));
  const details = el("details", {}, el("summary", {}, say("desk.standard.whole")), field(say("desk.standard.json"), whole));
  /** The whole text counts when it is open, else the table. */
  const begun = () => JSON.stringify([standard, label.value, details.open && whole.value]);
  const asRead = begun();
  keepUnsaved(() => place.isConnected && begun() !== asRead);
  const made = () => ({ ...(details.open ? JSON.parse(whole.value) : standard), version: label.value.trim() });
  const attempt = async () => show(result, trialTable((await call("POST", "/v1/standard/try", { body: made() })).data));
  const keep = async () => {
    await call("PUT", "/v1/standard", { body: made(), etag });
    announce(say("desk.standard.kept"));
    await standardRoom(place);
  };
  const press = (task) => (event) => busy(event.currentTarget, task).catch((problem) =>
    problem instanceof SyntaxError ? announce(say("desk.standard.notJson"), { urgent: true }) : fail(problem, details.open ? null : standard));
  show(place, el("h2", {}, say("desk.standard")), el("p", {}, say("desk.standard.how", { n: data.number })),
    field(say("desk.standard.label"), label), rangeTable(standard, data.units), details,
    el("p", { class: "row" }, el("button", { type: "button", onclick: press(attempt) }, say("desk.standard.try")),
      el("button", { type: "button", class: "main", onclick: press(keep) }, say("common.save"))), result);
}
