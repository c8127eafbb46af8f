// Who looks after a student: putting a coach on, taking one off, handing over and answering what was offered.

import { all, call, get, newKey } from "../../lib/api.js";
import { el, field, show } from "../../lib/dom.js";
import { actButton, ask, sendForm, undoable } from "../../lib/forms.js";
import { day } from "../../lib/units.js";
import { say } from "../../lib/words.js";

const option = (coach) => el("option", { value: coach.account_id }, coach.name);

/** One on the team: taken off with a question, put back by undo. */
function member(path, coach, again) {
  const put = (method) => call(method, `${path}/team/${coach.account_id}`, method === "PUT" ? { body: {} } : {});
  const off = async () => {
    if (!(await ask({ title: say("desk.team.offSure", { name: coach.name }), text: say("desk.team.offWhy"), sure: say("desk.team.off") }))) return;
    await put("DELETE");
    await again();
    undoable(say("desk.team.isOff", { name: coach.name }), async () => {
      await put("PUT");
      await again();
    });
  };
  return el("li", {}, coach.name, coach.disabled ? el("strong", {}, ` (${say("desk.coach.off")})`) : null, " ",
    actButton("team-off", say("desk.team.off"), off, { "aria-label": say("desk.team.offOf", { name: coach.name }) }));
}

/** An offer that waits for an answer: the head may give it. */
function offer(handover, again) {
  const answer = (status) => async () => {
    await call("PATCH", `/v1/handovers/${handover.id}`, { body: { status }, etag: `"${handover.version}"` });
    await again();
  };
  return el("li", { class: "card" }, el("p", {}, say("desk.team.offered", { from: handover.from_name ?? "?", to: handover.to_name ?? "?", day: day(handover.created) })),
    handover.note ? el("p", {}, el("q", {}, handover.note)) : null,
    el("p", { class: "row" }, actButton("accept", say("desk.team.accept"), answer("accepted"), { class: "" }), actButton("decline", say("desk.team.decline"), answer("declined"))));
}

function addForm(path, free, again) {
  const who = el("select", { name: "coach" }, free.map(option));
  return sendForm("team-add", say("desk.team.add"), async () => {
    await call("PUT", `${path}/team/${who.value}`, { body: {} });
    await again();
  }, field(say("desk.team.who"), who));
}

function handForm(path, others, again) {
  const to = el("select", { name: "to" }, others.map(option));
  const note = el("textarea", { name: "note", required: true, maxlength: "2000" });
  let key = newKey();
  return el("details", {}, el("summary", {}, say("desk.team.hand")), sendForm("hand", say("desk.team.handSend"), async () => {
    await call("POST", `${path}/handovers`, { body: { to: to.value, note: note.value.trim() }, key });
    key = newKey();
    await again();
  }, field(say("desk.team.to"), to), field(say("desk.team.note"), note)));
}

/** The part of the file; coaches: of the overview. me: the reader's account id. */
export function teamPart(id, coaches, me) {
  const path = `/v1/students/${id}`;
  const place = el("section", { class: "team", "data-part": "team" });
  const load = async (focus) => {
    const [student, handovers] = await Promise.all([get(path), all(`${path}/handovers?limit=200`, "handovers")]);
    const team = student.team.map((who) => coaches.find((coach) => coach.account_id === who) ?? { account_id: who, name: "?" });
    const free = coaches.filter((coach) => !coach.disabled && !student.team.includes(coach.account_id));
    const others = coaches.filter((coach) => !coach.disabled && coach.account_id !== me);
    const again = () => load(true);
    show(place, el("h3", { tabindex: "-1" }, say("desk.team")),
      team.length ? el("ul", { class: "plain" }, team.map((coach) => member(path, coach, again))) : el("p", {}, el("strong", {}, say("desk.team.none"))),
      el("ul", { class: "plain" }, handovers.filter((item) => item.status === "offered").map((item) => offer(item, again))),
      free.length ? addForm(path, free, again) : null, others.length ? handForm(path, others, again) : null);
    if (focus) place.querySelector("h3").focus();
  };
  return { place, load };
}
