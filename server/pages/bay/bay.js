// The coach's tablet: which room is open stands in the address.

import { get, leaving, Problem } from "../lib/api.js";
import { $, announce, el, show } from "../lib/dom.js";
import { forgetLists, keepFor, keepPages, lastSession, putList } from "../lib/storage.js";
import { begin, leave } from "../lib/session.js";
import { say, sayProblem, speak } from "../lib/words.js";
import { keepRules } from "./core.js";
import { sun } from "../lib/sun.js";
import { onOutbox, reopen, watch } from "./outbox.js";
import { reportOf } from "./lesson.js";
import { outboxRoom } from "./outbox_room.js";
import { studentRoom } from "./student.js";
import { studentsRoom } from "./students.js";
import { togetherRoom, waitingRoom } from "./waiting.js";

const unreached = () => { throw new Problem(0, "offline", ""); };
const opinionRoom = async (...where) => (await import("./sent/opinion.js").catch(unreached)).opinionRoom(...where);
/** Half of the bay is for taking a swing and telling of it: that comes with the student, so that the list is there sooner. */
const swing = () => import("./swing.js").catch(unreached);
const report = () => import("./report.js").catch(unreached);
const reportRoom = async (...where) => (await report()).reportRoom(...where);
const lessonRoom = async (...where) => (await report()).lessonRoom(...where);
const swingRoom = async (...where) => (await swing()).swingRoom(...where);
const personRoom = (...where) => {
  for (const later of [swing, report]) later().catch(() => {}); // asked for again when it is needed
  return studentRoom(...where);
};

const ROOMS = { students: studentsRoom, student: personRoom, swing: swingRoom, report: reportRoom, lesson: lessonRoom, outbox: outboxRoom, opinion: opinionRoom, waiting: waitingRoom, together: togetherRoom };

const [room, wrong, waiting] = ["#room", "#wrong", "#waiting"].map((name) => $(name)); // also when the page is being left
let leaveRoom = null; // what the open room wants done when it is left
let drawRoom = null; // and what draws it anew when the outbox has changed

let entered = 0;

/** Opens the room of the address, each in a place of its own: one that is slow to open draws nothing over a later one. */
async function enter() {
  const [name, id, more] = location.hash.slice(1).split("/");
  const turn = ++entered;
  const place = el("div");
  leaveRoom?.();
  leaveRoom = drawRoom = null;
  document.body.classList.remove("showing"); // a report's (report.js)
  wrong.textContent = "";
  show(room, place);
  try {
    const opened = await (ROOMS[name] ?? studentsRoom)(place, id, more);
    if (turn !== entered) opened?.leave?.();
    else {
      leaveRoom = opened?.leave ?? null;
      drawRoom = opened?.draw ?? null;
    }
  } catch (problem) {
    if (problem.slug === "not-signed-in") location.replace("/");
    else if (turn === entered) {
      wrong.textContent = sayProblem(problem);
      if (name && name !== "students" && !place.hasChildNodes()) show(place, el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))));
    }
  }
}

/** Who is signed in; without a network the one who was, while that session lasts and nobody has left. What was kept of other
 * sessions goes. */
async function whoami() {
  try {
    const me = await get("/v1/me");
    keepFor(me.id, me.session_id);
    await forgetLists(me.session_id);
    await putList("me", { me }).catch(() => {}); // the storage is full: then there is no way in without a network
    return me;
  } catch (problem) {
    if (problem.status !== 0) throw problem;
    const kept = leaving() ? undefined : await lastSession();
    if (!kept) throw new Problem(401, "not-signed-in", "");
    keepFor(kept.me.id, kept.me.session_id);
    return kept.me;
  }
}

/** What became of a swing: on to its report, or back into its sheet, where its coach waits for it; else it is said. */
async function followed({ id, student, question, swing, refusal, mend }) {
  const waited = [`#student/${student.id}`, `#waiting/${id}`].includes(location.hash);
  if (refusal) announce(say(swing ? "bay.stillsRefused" : "bay.refused.now", { why: refusal, name: student.name }), { urgent: true });
  if (waited && swing) location.hash = reportOf(swing, question);
  else if (waited && mend && document.visibilityState === "visible" && (await reopen({ id, mend }))) location.hash = `#swing/${id}`;
}

sun($("#sun"));
await speak();
$("#out").addEventListener("click", leave);
window.addEventListener("leadside-blocked", () => { wrong.textContent = say("bay.blocked"); });
try {
  const me = await whoami();
  if (me.role !== "coach" && me.role !== "head") location.replace("/");
  begin(me);
  wrong.textContent = "";
  onOutbox((entries) => {
    waiting.hidden = entries.length === 0;
    const refused = entries.filter(({ state }) => state === "refused").length;
    waiting.textContent = [entries.length > refused ? say("bay.waiting", { n: entries.length - refused }) : null, refused ? say("bay.waiting.refused", { n: refused }) : null].filter(Boolean).join(", ");
    void drawRoom?.();
  });
  window.addEventListener("leadside-sent", ({ detail }) => void followed(detail));
  window.addEventListener("leadside-ended", () => { // a swing in the making stays on the screen: it is its coach's work
    if (location.hash.startsWith("#swing/")) announce(say("bay.ended"), { urgent: true });
    else location.replace("/");
  });
  history.scrollRestoration = "manual"; // a room opens at its top, also on the way back
  window.addEventListener("hashchange", () => enter().then(() => {
    if (room.contains(document.activeElement)) return; // what it asks for has the focus
    window.scrollTo(0, 0);
    room.focus({ preventScroll: true });
  }));
  window.addEventListener("online", () => void keepRules());
  void keepRules();
  watch();
  await enter();
} catch (problem) {
  if (problem.slug === "not-signed-in") location.replace("/");
  else wrong.textContent = sayProblem(problem);
}
void keepPages();
