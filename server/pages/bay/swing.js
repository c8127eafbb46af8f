// One new swing: club, the two views, and sending it off.

import { announce, busy, el, field, show } from "../lib/dom.js";
import { number } from "../lib/units.js";
import { say } from "../lib/words.js";
import { drop } from "../lib/keep.js";
import { documentOf, findDraft, keepDraft, marksOf, stillsOf } from "./draft.js";
import { enqueue } from "./outbox.js";
import { Sheet } from "./sheet.js";
import { LENGTHS, VIEWS } from "./trade.js";

function clubFields(draft, changed) {
  const kind = el("select", {}, Object.keys(LENGTHS).map((name) => el("option", { value: name, selected: name === draft.club.kind }, say(`club.${name}`))));
  const length = el("input", { type: "number", min: "0.5", max: "1.3", step: "0.01", value: String(draft.club.length_m) });
  kind.addEventListener("change", () => {
    draft.club = { kind: kind.value, number: kind.value === "iron" ? 7 : null, length_m: LENGTHS[kind.value] };
    length.value = String(draft.club.length_m);
    changed();
  });
  length.addEventListener("change", () => { draft.club.length_m = Number(length.value); changed(); });
  return el("div", { class: "pair" }, field(say("bay.club"), kind), field(say("bay.club.length", { metres: number(draft.club.length_m, 2) }), length));
}

const FLIGHT = { start: ["left", "straight", "right"], curve: ["left", "straight", "right"], strike: ["flush", "thin", "topped", "fat", "heel", "toe"] };
const SCALE = ["arm_back", "top", "impact", "arm_through"];

/** What the coach saw of the ball, and a scale's readings: both may stay empty. */
function moreFields(draft, changed) {
  const ball = Object.entries(FLIGHT).map(([name, values]) => {
    const select = el("select", {}, el("option", { value: "" }, say("flight.unknown")),
      values.map((value) => el("option", { value, selected: draft.flight?.[name] === value }, say(`flight.${value}`))));
    select.addEventListener("change", () => { draft.flight = { ...draft.flight, [name]: select.value }; changed(); });
    return field(say(`flight.${name}`), select);
  });
  const scale = SCALE.map((checkpoint) => {
    const input = el("input", { type: "number", min: "0", max: "100", step: "1", value: draft.weight?.[checkpoint] === undefined ? "" : String(draft.weight[checkpoint]) });
    input.addEventListener("change", () => {
      draft.weight = { ...draft.weight };
      if (input.value === "") delete draft.weight[checkpoint];
      else draft.weight[checkpoint] = Math.min(100, Math.max(0, Number(input.value)));
      changed();
    });
    return field(say("bay.scale", { checkpoint: say(`checkpoint.${checkpoint}`) }), input);
  });
  return el("details", {}, el("summary", {}, say("bay.more")), el("div", { class: "pair" }, ball, scale));
}

export async function swingRoom(place, id) {
  const draft = await findDraft(id);
  if (!draft) {
    location.hash = "#students";
    return;
  }
  const told = el("p", { class: "hint", role: "status" });
  const send = el("button", { type: "button", class: "main" }, say("bay.send"));
  const fit = () => {
    const marks = marksOf(draft);
    send.disabled = marks === 0;
    told.textContent = say("bay.marks", { n: marks });
  };
  const sheets = new Map();
  const room = el("div", { class: "view" });
  const tabs = el("div", { class: "row", role: "group", "aria-label": say("bay.views") });
  const open = (kind) => {
    if (!sheets.has(kind)) sheets.set(kind, new Sheet(draft, kind, fit));
    show(room, sheets.get(kind).place);
    show(tabs, VIEWS.map((name) => el("button", { type: "button", "aria-pressed": String(name === kind), onclick: () => open(name) }, say(`view.${name}`))));
  };
  send.addEventListener("click", () => busy(send, async () => {
    await enqueue({ id: draft.id, student: draft.student, document: documentOf(draft), stills: stillsOf(draft) });
    await drop("drafts", draft.id);
    announce(say("bay.queued"));
    location.hash = `#student/${draft.student.id}`;
  }).catch((problem) => announce(problem.message, { urgent: true })));
  show(place, el("h2", {}, say("bay.swingOf", { name: draft.student.name })),
    clubFields(draft, () => void keepDraft(draft)), tabs, room, moreFields(draft, () => void keepDraft(draft)), told, el("p", {}, send));
  open(VIEWS[0]);
  fit();
}
