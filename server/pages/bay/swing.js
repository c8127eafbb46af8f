// One new swing: club, the two views, and sending it off.

import { $, announce, busy, el, field, show } from "../lib/dom.js";
import { isFull } from "../lib/storage.js";
import { hold } from "../lib/tabs.js";
import { faultName } from "../lib/speech.js";
import { moment } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";
import { CLUBS, FAULTS, VIEWS, viewsFor } from "./catalogue.js";
import { closeDraft, dropDraft, findDraft, keepDraft, keepLoose, live, looseParts, marksOf, worthSending } from "./draft.js";
import { Foot } from "./foot.js";
import { remember, reportOf } from "./lesson.js";
import { enqueue, sendNow } from "./outbox.js";
import { CLUB_M, problemsOf, withPlace } from "./review.js";
import { suspectCard, suspectsOf } from "./marking/suspects.js";
import { roomNotice } from "./room.js";
import { Sheet } from "./sheet.js";

/** What a swing looks like comes with it; a room is drawn when it is there. */
const look = el("link", { rel: "stylesheet", href: "/bay/marking/bench.css" });
const looks = new Promise((there) => ["load", "error"].forEach((name) => look.addEventListener(name, there)));
document.head.append(look);
await looks;

/** "iron 7" for {kind: "iron", number: 7}. */
const clubKey = ({ kind, number }) => (number ? `${kind} ${number}` : kind);

const clubName = ({ kind, number }) => (number ? say("club.numbered", { n: number, club: say(`club.${kind}`) }) : say(`club.${kind}`));

/** The club, the hand and the club's length: fields, and the clubs as a row(). */
function clubFields(draft, changed) {
  const club = el("select", {}, CLUBS.map((item) => el("option", { value: clubKey(item), selected: clubKey(item) === clubKey(draft.club) }, clubName(item))));
  const length = el("input", { type: "number", "data-field": "length", min: String(CLUB_M[0]), max: String(CLUB_M[1]), step: "0.01", value: String(draft.club.length_m) });
  const fits = () => length.setAttribute("aria-invalid", String(problemsOf(draft).some((problem) => problem.field === "length")));
  fits();
  const choose = (item) => {
    draft.club = { ...item };
    draft.clubSaid = true;
    club.value = clubKey(item);
    length.value = String(draft.club.length_m);
    fits();
    changed();
  };
  club.addEventListener("change", () => choose(CLUBS.find((item) => clubKey(item) === club.value)));
  length.addEventListener("change", () => {
    draft.club.length_m = length.value === "" ? null : Number(length.value);
    fits();
    changed();
  });
  const hand = el("select", {}, ["right", "left"].map((name) => el("option", { value: name, selected: name === draft.student.hand }, say(`hand.${name}`))));
  hand.dataset.field = "hand";
  hand.addEventListener("change", () => { draft.student.hand = hand.value; changed(); });
  /** The clubs beside each other, to be asked for before there is a film. */
  const row = () => {
    const buttons = CLUBS.map((item) => el("button", { type: "button", "data-club": clubKey(item), onclick: () => { choose(item); mark(); } }, clubName(item)));
    const mark = () => buttons.forEach((button) => button.setAttribute("aria-pressed", String(draft.clubSaid !== false && button.dataset.club === clubKey(draft.club))));
    mark();
    return el("section", { "aria-label": say("bay.club") }, el("h3", {}, say("bay.club")), el("div", { class: "row clubs" }, buttons));
  };
  return { fields: el("div", { class: "pair" }, field(say("bay.club"), club), field(say("student.hand"), hand), field(say("bay.club.length"), length)), row };
}

const FLIGHT = { start: ["left", "straight", "right"], curve: ["left", "straight", "right"], strike: ["flush", "thin", "topped", "fat", "heel", "toe"] };
const SCALE = ["arm_back", "top", "impact", "arm_through"];

/** What the coach saw of the ball and the swing, and a scale's readings: all may stay empty. */
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
  return el("details", {}, el("summary", {}, say("bay.more")), el("div", { class: "pair" }, ball, scale), seenFields(draft, changed));
}

/** What the coach's eye saw: one fault and how strong it is; where pictures can't tell, this does. */
function seenFields(draft, changed) {
  const list = el("ul", { class: "plain" });
  const fault = el("select", {}, el("option", { value: "" }, say("bay.seen.choose")), FAULTS.map((name) => el("option", { value: name }, faultName({ fault: name }))));
  const severity = el("select", {}, ["slight", "clear", "strong"].map((name) => el("option", { value: name, selected: name === "clear" }, say(`severity.${name}`))));
  const draw = () => show(list, (draft.seen ?? []).map((item) => el("li", { class: "row" }, `${faultName({ fault: item.fault })}: ${say(`severity.${item.severity}`)}`,
    el("button", { type: "button", "aria-label": say("bay.seen.drop", { fault: faultName({ fault: item.fault }) }), onclick: () => keep((draft.seen ?? []).filter((other) => other !== item)) }, "×"))));
  const keep = (seen) => { draft.seen = seen; changed(); draw(); };
  const add = () => fault.value && keep([...(draft.seen ?? []).filter((item) => item.fault !== fault.value), { fault: fault.value, severity: severity.value }]);
  draw();
  return [el("div", { class: "pair" }, field(say("bay.seen"), fault), field(say("bay.seen.how"), severity)),
    el("p", {}, el("button", { type: "button", onclick: add }, say("bay.seen.add"))), list];
}

/** Thrown away in two taps, the second in another place. */
function discardButtons(draft) {
  const sure = el("button", { type: "button", "data-key": "sure", hidden: true, onclick: (event) => busy(event.currentTarget, async () => {
    await dropDraft(draft);
    location.hash = `#student/${draft.student.id}`;
  }) }, say("bay.discard.sure"));
  const first = el("button", { type: "button", "data-key": "discard", onclick: () => ask(true) }, say("bay.discard"));
  const not = el("button", { type: "button", hidden: true, onclick: () => ask(false) }, say("bay.discard.not"));
  const ask = (asking) => {
    first.hidden = asking;
    sure.hidden = not.hidden = !asking;
    (asking ? not : first).focus();
  };
  return [first, not, sure];
}

/** The swing is another tab's: where it is open, and the offer to go on with it here. */
function elsewhere(place, draft, here) {
  const button = el("button", { type: "button", class: "main", "data-key": "here", onclick: (event) => busy(event.currentTarget, here) }, say("bay.elsewhere.here"));
  const name = `${say("bay.swingOf", { name: draft.student.name })} · Leadside`;
  show(place, el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))), el("h2", {}, say("bay.swingOf", { name: draft.student.name })),
    el("div", { class: "card", role: "alert" }, el("p", {}, say("bay.elsewhere", { tab: name })),
      draft.opened ? el("p", { class: "hint" }, say("bay.elsewhere.since", { at: moment(draft.opened) })) : null, el("p", {}, button)));
  button.focus();
}

/** The views that are of use: those that the question reads. */
const viewsOf = (draft) => (draft.question ? viewsFor(draft.question).kinds : VIEWS);

/** The sheet of a draft that is this tab's. Returns what is to be done when it is left. */
function openSheet(place, draft) {
  const wrong = el("div", { role: "alert" });
  const send = el("button", { type: "button", "data-key": "send" }, say("bay.send"));
  const foot = new Foot(send);
  const sheets = new Map();
  const room = el("div", { class: "view" });
  const tabs = el("div", { class: "row", role: "group", "aria-label": say("bay.views") });
  const full = roomNotice(draft);
  const summary = el("summary", {});
  const camera = el("div");
  const told = new Set();
  const club = clubFields(draft, () => keep());
  const fit = () => {
    send.disabled = !worthSending(draft);
    send.title = worthSending(draft) ? say("bay.marks", { n: marksOf(draft) }) : say("bay.nothingYet");
    summary.textContent = `${draft.clubSaid === false ? say("bay.club.unsaid", { club: clubName(draft.club) }) : clubName(draft.club)} · ${say(`hand.${draft.student.hand}`)}`;
    for (const tab of tabs.children) tab.textContent = tabText(tab.dataset.key);
    foot.settle();
  };
  const tabText = (kind) => `${say(`view.${kind}`)}${marksOf(draft, [kind]) ? ` (${marksOf(draft, [kind])})` : ""}`;
  const open = (kind) => {
    for (const sheet of sheets.values()) sheet.shown = false;
    if (!sheets.has(kind)) sheets.set(kind, new Sheet(draft, kind, { foot, changed: fit, done, asking, told, clubs: club.row }));
    if (draft.open !== kind) {
      draft.open = kind;
      void keepDraft(draft);
    }
    const sheet = sheets.get(kind);
    show(room, sheet.place);
    show(camera, sheet.setup);
    sheet.shown = true;
    sheet.draw();
    for (const tab of tabs.children) tab.setAttribute("aria-pressed", String(tab.dataset.key === kind));
  };
  /** Nothing of the open view is left to do: on to the other where something is, else it is sent. */
  const done = () => {
    const other = viewsOf(draft).find((kind) => Object.values(draft.views[kind]?.frames ?? {}).some((frame) => !frame.sure));
    if (other && other !== draft.open) open(other);
    else foot.lead();
  };
  const asking = () => {
    const kinds = viewsOf(draft);
    show(tabs, kinds.map((kind) => el("button", { type: "button", class: "quiet", "data-key": kind, onclick: () => open(kind) }, tabText(kind))));
    open(kinds.includes(draft.open) ? draft.open : kinds[0]);
    fit();
  };
  const settings = el("details", { class: "settings", "data-field": "more" }, summary, el("div", { class: "card" }, club.fields, camera, moreFields(draft, () => keep()), el("div", { class: "row" }, discardButtons(draft))));
  /** Opens the place that is to be mended, and says why. */
  const mend = ({ kind, checkpoint, field: name }, text) => {
    if (kind) {
      open(kind);
      if (checkpoint) sheets.get(kind).open(checkpoint);
    }
    show(wrong, el("p", { class: "card wrong" }, text));
    const node = name ? $(`[data-field="${name}"]`, place) : null;
    if (node) settings.open = true;
    (node instanceof HTMLInputElement ? node : wrong).scrollIntoView({ block: "center" });
    if (node) ($("summary", node) ?? node).focus();
  };
  const keep = () => {
    void keepDraft(draft);
    fit();
    for (const sheet of sheets.values()) sheet.panel?.check?.();
    if (problemsOf(draft).length === 0) show(wrong);
  };
  /** Marks that do not fit the others: the first at its place, before anything is sent. */
  const look = (suspects) => {
    const { view_kind: kind, checkpoint, point } = suspects[0];
    if (kind && sheets.size) {
      open(kind);
      if (checkpoint) sheets.get(kind).open(checkpoint, { stepping: false });
      if (point) sheets.get(kind).panel.marker?.name(point);
    }
    show(wrong, suspectCard(draft, suspects, () => { show(wrong); foot.lead(); }));
  };
  const sendOff = async () => {
    const [problem] = problemsOf(draft);
    if (problem) {
      mend(problem, say(problem.key, problem.values));
      return;
    }
    const suspects = await suspectsOf(draft, told);
    if (suspects.length) {
      look(suspects);
      return;
    }
    void remember(draft);
    location.hash = (await takeOver(draft)) ?? `#waiting/${draft.id}`;
  };
  send.addEventListener("click", () => busy(send, sendOff).catch((problem) => mend({}, problem.status === 0 ? say("bay.full.stay") : sayProblem(problem))));
  show(place, el("div", { class: "bench" }, el("div", { class: "bench-head" }, el("a", { class: "button quiet", href: `#student/${draft.student.id}` }, say("common.back")),
    el("h2", { title: say("bay.swingOf", { name: draft.student.name }) }, draft.student.name), tabs, settings), full.place, wrong, room, foot.node));
  asking();
  if (draft.refused) mend(draft.refused, say("bay.refused.mend", { why: withPlace(draft.refused) }));
  return () => {
    full.end();
    foot.end();
    for (const sheet of sheets.values()) sheet.end();
  };
}

/** Into the outbox, where it stays until the server has it; where the tablet has no room for that, straight to the server: then
 * its report's address. */
async function takeOver(draft) {
  const small = () => looseParts(draft).some((name) => !name.startsWith("film"));
  if (small()) await keepLoose(draft);
  try {
    if (!small()) {
      await enqueue(draft);
      announce(say(navigator.onLine ? "bay.sending" : "bay.queued"));
      return null;
    }
  } catch (error) {
    if (!isFull(error)) throw error;
  }
  return reportOf(await sendNow(draft), draft.question);
}

/** A draft is open in one tab at a time. Returns how to leave. */
export async function swingRoom(place, id) {
  let leave = () => {};
  const enter = async (force) => {
    let draft;
    let end = () => {};
    const title = document.title;
    const left = () => {
      end();
      document.title = title;
    };
    const lost = () => { // to another tab
      left();
      if (draft) closeDraft(draft);
      if (draft) elsewhere(place, { ...draft, opened: new Date().toISOString() }, () => enter(true));
    };
    const held = await hold(`draft-${id}`, lost, { force });
    draft = await findDraft(id);
    if (!draft || draft.queued) {
      held?.letGo();
      location.hash = draft ? "#outbox" : "#students";
      return;
    }
    if (!held) {
      elsewhere(place, draft, () => enter(true));
      return;
    }
    leave = () => {
      held.letGo();
      left();
    };
    draft.opened = new Date().toISOString();
    document.title = `${say("bay.swingOf", { name: draft.student.name })} · Leadside`;
    const letGo = live(draft);
    const close = openSheet(place, draft);
    end = () => {
      close();
      letGo();
    };
    void keepDraft(draft);
  };
  await enter(false);
  return { leave: () => leave() };
}
