// A student's swings: which count, which were set aside or given to this student, and setting right what is wrong.

import { call } from "../../lib/api.js";
import { announce, el, field, show } from "../../lib/dom.js";
import { actButton, sendForm, undoable } from "../../lib/forms.js";
import { day, moment } from "../../lib/units.js";
import { say } from "../../lib/words.js";
import { pickStudents } from "../pick.js";

const edit = (swing, what, body) => call("POST", `/v1/swings/${swing.id}/${what}`, { body });

const told = (key, { at, by, reason }, names) => el("p", { class: "hint" }, say(key, { who: names.get(by) ?? "?", day: day(at), reason: reason ?? "" }));

/** Setting aside, or giving to whose it is: either needs a reason. */
function asideForm(swing, again) {
  const why = el("input", { name: "reason", required: true, maxlength: "2000", autocomplete: "off" });
  return sendForm("aside", say("desk.swing.aside"), async () => {
    const reason = why.value.trim();
    await edit(swing, "void", { reason });
    await again();
    undoable(say("desk.swing.isAside"), async () => {
      await edit(swing, "void", { void: false, reason: say("ask.undone") });
      await again();
    });
  }, field(say("desk.swing.why"), why));
}

function moveForm(swing, again) {
  const why = el("input", { name: "reason", required: true, maxlength: "2000", autocomplete: "off" });
  const whose = pickStudents(say("desk.swing.whose"), { fits: (student) => student.id !== swing.student_id });
  return sendForm("move", say("desk.swing.move"), async () => {
    const [student] = whose.ids();
    if (!student) return announce(say("desk.pick.needed"), { urgent: true });
    await edit(swing, "move", { student_id: student, reason: why.value.trim() });
    await again();
    return announce(say("desk.swing.moved"));
  }, whose.node, field(say("desk.swing.why"), why));
}

function line(swing, names, again) {
  const back = async () => {
    await edit(swing, "void", { void: false, reason: say("desk.swing.back") });
    await again();
  };
  return el("li", { class: swing.voided ? "aside" : "" }, el("a", { href: `/bay.html#report/${swing.id}` }, moment(swing.recorded_at)),
    swing.voided ? told("desk.swing.asideBy", swing.voided, names) : null, swing.moved ? told("desk.swing.movedBy", swing.moved, names) : null,
    swing.revised ? told("desk.swing.revisedBy", swing.revised, names) : null,
    swing.voided ? actButton("back", say("desk.swing.back"), back)
      : el("details", {}, el("summary", {}, say("desk.swing.right")), asideForm(swing, again), moveForm(swing, again)));
}

/** names: of coaches, by id. */
export function swingsPart(id, names) {
  const list = el("ul", { class: "plain swings" });
  const more = actButton("more", say("care.more"), () => load());
  let next = `/v1/students/${id}/swings?limit=6`;
  const load = async () => {
    const page = await call("GET", next);
    list.append(...page.data.swings.map((swing) => line(swing, names, again)));
    next = page.next;
    more.hidden = !next;
    if (!list.firstChild) show(list, el("li", {}, say("common.none")));
  };
  const again = async () => {
    list.replaceChildren();
    next = `/v1/students/${id}/swings?limit=6`;
    await load();
  };
  const place = el("section", { "data-part": "swings" }, el("h3", {}, say("desk.swings")), list, el("p", {}, more));
  return { place, load };
}
