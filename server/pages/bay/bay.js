// The coach's tablet: which room is open stands in the address.

import { get, signOut } from "../lib/api.js";
import { $, announce, el, show } from "../lib/dom.js";
import { list, put, take } from "../lib/keep.js";
import { say, sayProblem, speak } from "../lib/words.js";
import { discard, onOutbox, watch } from "./outbox.js";
import { lessonRoom, reportRoom } from "./report.js";
import { studentRoom } from "./student.js";
import { studentsRoom } from "./students.js";
import { swingRoom } from "./swing.js";

async function outboxRoom(place) {
  const entries = await list("outbox");
  show(place, el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))), el("h2", {}, say("bay.outbox")),
    entries.length === 0 ? el("p", {}, say("bay.outbox.empty")) : el("ul", { class: "plain" }, entries.map((entry) => el("li", { class: "card" },
      el("strong", {}, entry.student.name), " ", entry.state === "refused" ? el("span", { class: "wrong" }, say("bay.refused", { why: entry.problem })) : say("bay.waits"),
      entry.state === "refused" ? el("p", {}, el("button", { type: "button", onclick: () => discard(entry.id).then(() => outboxRoom(place)) }, say("bay.discard"))) : null))));
}

const ROOMS = { students: studentsRoom, student: studentRoom, swing: swingRoom, report: reportRoom, lesson: lessonRoom, outbox: outboxRoom };

async function enter() {
  const [name, id, more] = location.hash.slice(1).split("/");
  $("#wrong").textContent = "";
  try {
    await (ROOMS[name] ?? studentsRoom)($("#room"), id, more);
  } catch (problem) {
    if (problem.slug === "not-signed-in") location.replace("/");
    else $("#wrong").textContent = sayProblem(problem);
  }
}

/** Who is signed in; without a network the one who was. */
async function whoami() {
  try {
    const me = await get("/v1/me");
    await put("lists", { id: "me", me });
    return me;
  } catch (problem) {
    const kept = problem.status === 0 ? await take("lists", "me") : null;
    if (!kept) throw problem;
    return kept.me;
  }
}

await speak();
$("#out").addEventListener("click", () => signOut().finally(() => location.replace("/")));
try {
  const me = await whoami();
  if (me.role !== "coach" && me.role !== "head") location.replace("/");
  onOutbox((entries) => {
    $("#waiting").hidden = entries.length === 0;
    $("#waiting").textContent = say("bay.waiting", { n: entries.length });
  });
  window.addEventListener("leadside-sent", (event) => {
    const { student, swing, refusal } = event.detail;
    if (refusal) announce(say("bay.stillsRefused", { why: refusal }), { urgent: true });
    if (location.hash === `#student/${student.id}`) location.hash = `#report/${swing}`;
  });
  history.scrollRestoration = "manual"; // a room opens at its top, also on the way back
  window.addEventListener("hashchange", () => enter().then(() => {
    window.scrollTo(0, 0);
    $("#room").focus({ preventScroll: true });
  }));
  watch();
  await enter();
} catch (problem) {
  if (problem.slug === "not-signed-in") location.replace("/");
  else $("#wrong").textContent = sayProblem(problem);
}
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js", { type: "module" }).catch(() => {});
