// The house standard: ranges by measure with where each comes from, changed here, tried on the club's swings before it counts;
// its versions side by side and the way back to each; scoring anew.

import { call, get } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { actButton, ask } from "../lib/forms.js";
import { faultName } from "../lib/speech.js";
import { moment, number } from "../lib/units.js";
import { capital, say, sayProblem } from "../lib/words.js";
import { changesOf, changesTable, LIMITS, nameOf } from "./changes.js";
import { keepUnsaved } from "./unsaved.js";

const UNITS = { deg: "°", m: "m", "%": "%" };
const LOOK_MS = 500; // how often a job is asked how far it has come

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

const wide = (label, ...children) => el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": label }, children);
const heads = (names) => el("thead", {}, el("tr", {}, names.map((name) => el("th", { scope: "col" }, say(`desk.standard.${name}`)))));

function rangeTable(standard, units) {
  return wide(say("desk.standard"), el("table", {}, heads(["measure", "unit", ...LIMITS, "evidence"]),
    el("tbody", {}, standard.ranges.map((rule) => el("tr", {}, el("th", { scope: "row" }, nameOf(rule)), el("td", {}, UNITS[units[rule.measure]] ?? ""),
      LIMITS.map((limit) => limitCell(rule, limit)), el("td", {}, evidence(rule)))))));
}

// ---- what runs in the background ----

/** What would change, fault by fault, if this were the standard. */
function trialTable(result) {
  return el("table", {}, el("caption", {}, say("desk.standard.trial", { n: result.swings })), heads(["fault", "now", "then"]),
    el("tbody", {}, result.faults.filter((row) => row.present_now !== row.present_then).map((row) => el("tr", {},
      el("th", { scope: "row" }, faultName({ fault: row.fault })), el("td", {}, number(row.present_now)), el("td", {}, number(row.present_then))))));
}

function jobParts(job, stop) {
  const name = job.kind === "trial" ? say("desk.job.trial", { name: job.tried }) : say("desk.job.rescore", { n: job.standard });
  const running = job.state === "running";
  const far = job.of === null ? say("desk.job.counting") : say("desk.job.of", { done: number(job.done), of: number(job.of) });
  return [el("h3", {}, name),
    running ? el("p", { class: "row" }, el("progress", { max: job.of || 1, value: job.done, "aria-label": name }), el("span", {}, far), actButton("job-stop", say("desk.job.stop"), stop))
      : el("p", {}, `${say(`desk.job.${job.state}`)} ${far}`),
    job.unread ? el("p", {}, say("desk.job.unread", { n: job.unread })) : null,
    job.kind === "trial" ? trialTable(job.result) : el("p", {}, say("desk.job.made", { swings: say("desk.job.swings", { n: job.result.swings }), lessons: say("desk.job.lessons", { n: job.result.lessons }) }))];
}

/** Shows the newest job in its place, and follows it while it runs and the place is there. ended: called when it is over. */
async function follow(place, said, ended) {
  const { job } = await get("/v1/standard/job");
  if (!job) return;
  const again = () => follow(place, true, ended);
  const held = place.contains(document.activeElement);
  show(place, jobParts(job, async () => {
    await call("DELETE", "/v1/standard/job");
    await again();
  }));
  if (held && job.state === "running") place.querySelector("button")?.focus();
  if (job.state !== "running") {
    if (said) {
      announce(say(`desk.job.${job.state}`));
      await ended();
    }
    return;
  }
  setTimeout(() => { if (place.isConnected) again().catch((problem) => fail(problem)); }, LOOK_MS);
}

// ---- versions ----

async function goBack(version, now, units, done) {
  const { data: { standard } } = await call("GET", `/v1/standard/versions/${version.number}`);
  const lines = changesOf(now.data.standard, standard, units);
  const text = say("desk.version.backWhy", { n: version.number, next: now.data.number + 1 });
  const more = changesTable(say("desk.changes"), lines, [say("desk.version.of", { n: now.data.number }), say("desk.version.of", { n: version.number })]);
  if (!(await ask({ title: say("desk.version.backAsk", { n: version.number }), text, more, sure: say("desk.version.back") }))) return;
  await call("POST", `/v1/standard/versions/${version.number}/restore`, { body: {}, etag: now.etag });
  announce(say("desk.standard.kept"));
  await done();
}

async function versionsPart(now, units, done) {
  const { versions } = await get("/v1/standard/versions");
  const differences = el("div", { role: "status" });
  const compare = async (version) => {
    const { data: { standard } } = await call("GET", `/v1/standard/versions/${version.number}`);
    show(differences, changesTable(say("desk.changes"), changesOf(standard, now.data.standard, units), [say("desk.version.of", { n: version.number }), say("desk.version.of", { n: now.data.number })]));
  };
  const who = (version) => version.created_by_name ?? (version.created_by ? say("desk.audit.gone") : say("desk.audit.program"));
  const buttons = (version) => (version.in_force ? say("desk.version.inForce") : [
    actButton("compare", say("desk.version.compare"), () => compare(version), { "aria-label": say("desk.version.compareOf", { n: version.number }) }),
    actButton("back", say("desk.version.back"), () => goBack(version, now, units, done), { "aria-label": say("desk.version.backOf", { n: version.number }) })]);
  const cells = (version) => ({ number: number(version.number), label: version.label, who: who(version), at: moment(version.created), swings: number(version.swings), what: buttons(version) });
  const top = ["number", "label", "who", "at", "swings", "what"].map((head) => el("th", { scope: "col" }, say(`desk.version.${head}`)));
  const row = (version) => el("tr", {}, Object.entries(cells(version)).map(([head, said]) => el("td", { "data-head": say(`desk.version.${head}`) }, said)));
  const table = el("table", { class: "rows" }, el("thead", {}, el("tr", {}, top)), el("tbody", {}, versions.map(row)));
  return [el("h3", {}, say("desk.version")), wide(say("desk.version"), table), differences];
}

export async function standardRoom(place) {
  const now = await call("GET", "/v1/standard");
  const { data, etag } = now;
  const { units } = data;
  const standard = structuredClone(data.standard);
  const label = el("input", { value: standard.version, maxlength: "60" });
  const result = el("div", { role: "status" });
  const whole = el("textarea", { class: "code", spellcheck: false }, JSON.stringify(standard, null, 1));
  const details = el("details", {}, el("summary", {}, say("desk.standard.whole")), field(say("desk.standard.json"), whole));
  /** The whole text counts when it is open, else the table. */
  const begun = () => JSON.stringify([standard, label.value, details.open && whole.value]);
  const asRead = begun();
  keepUnsaved(() => place.isConnected && begun() !== asRead);
  const made = () => ({ ...(details.open ? JSON.parse(whole.value) : standard), version: label.value.trim() });
  const again = () => standardRoom(place);
  const versions = el("div");
  const counted = async () => show(versions, await versionsPart(now, units, again));
  const attempt = async () => {
    await call("POST", "/v1/standard/try", { body: made() });
    await follow(result, true, counted);
  };
  const keep = async () => {
    const next = made();
    const more = changesTable(say("desk.changes"), changesOf(data.standard, next, units), [say("desk.changes.was"), say("desk.changes.is")]);
    if (!(await ask({ title: say("desk.standard.saveAsk", { name: next.version, n: data.number + 1 }), text: say("desk.standard.saveWhy"), more, sure: say("common.save") }))) return;
    await call("PUT", "/v1/standard", { body: next, etag });
    announce(say("desk.standard.kept"));
    await again();
  };
  const press = (task) => (event) => busy(event.currentTarget, task).catch((problem) =>
    problem instanceof SyntaxError ? announce(say("desk.standard.notJson"), { urgent: true }) : fail(problem, details.open ? null : standard));
  const spread = async () => {
    if (!(await ask({ title: say("desk.standard.spreadAsk"), text: say("desk.standard.spreadWhy"), sure: say("desk.standard.spread") }))) return;
    await call("POST", "/v1/standard/spread", { body: { version: label.value.trim() }, etag });
    announce(say("desk.standard.kept"));
    await again();
  };
  const rescore = async () => {
    if (!(await ask({ title: say("desk.standard.rescoreAsk", { n: data.number }), text: say("desk.standard.rescoreWhy"), sure: say("desk.standard.rescore") }))) return;
    await call("POST", "/v1/standard/rescore", { body: {} });
    await follow(result, true, counted);
  };
  await counted();
  show(place, el("h2", {}, capital(say("desk.standard"))), el("p", {}, say("desk.standard.how", { n: data.number })),
    field(say("desk.standard.label"), label), rangeTable(standard, units), details,
    el("p", { class: "row" }, el("button", { type: "button", onclick: press(attempt) }, say("desk.standard.try")),
      el("button", { type: "button", class: "main", onclick: press(keep) }, say("common.save")),
      actButton("spread", say("desk.standard.spread"), spread), actButton("rescore", say("desk.standard.rescore"), rescore)), result, versions);
  await follow(result, false, counted);
}
