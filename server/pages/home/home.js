// A student's or guardian's page: whose it is, one thing to do first, what to mind, and whether it is getting better.

import { get } from "../lib/api.js";
import { consentPart } from "../lib/consent.js";
import { $, busy, show } from "../lib/dom.js";
import { begin, leave as signOff } from "../lib/session.js";
import { sayProblem, speak } from "../lib/words.js";
import { showCautions } from "./cautions.js";
import { drillGroups } from "./drills.js";
import { showNotes } from "./notes.js";
import { showEnded, showOfAge } from "./of_age.js";
import { showProgress } from "./progress.js";
import { hideRound, roundAlone, showRound } from "./round.js";
import { makeCalendar, saveCopy } from "./tools.js";
import { juniorsOf, showWhose } from "./whose.js";

const state = { me: null, juniors: [], chosen: null, shown: null, turn: 0 };

function leave(problem) {
  $("#content").classList.remove("opening");
  if (problem.slug === "not-signed-in") location.replace("/");
  else if (problem.slug === "nobody-to-see") showEnded();
  else $("#wrong").textContent = sayProblem(problem);
}

const choose = (id) => {
  state.chosen = id;
  history.replaceState(null, "", `#${id}`);
  load().catch(leave);
};

/** Everything of the student who is chosen. What arrives after another was chosen is thrown away. */
async function load() {
  const turn = ++state.turn;
  const sheet = await get(`/v1/me/homework${state.chosen ? `?student=${state.chosen}` : ""}`);
  const student = await get(`/v1/students/${sheet.student_id}`);
  const consents = await consentPart(student, state.me.role, { heading: "h2" });
  if (turn !== state.turn) return;
  state.shown = student.id;
  $("#wrong").textContent = "";
  $("#more").hidden = false;
  showWhose(student, sheet.coaches, state.juniors, choose);
  showCautions(sheet.cautions, { account: state.me.id, student: student.id });
  show($("#drills"), drillGroups(sheet.homework, { student, own: state.me.role === "student", again: load }));
  show($("#consents"), consents);
  showOfAge(consents);
  showRound({ account: state.me.id, student: student.id, own: true });
  const still = () => turn === state.turn;
  Promise.all([showNotes(student.id, sheet.coaches, still), showProgress(student, still)]) // nobody who ticks off waits for them
    .then(() => $("#content").classList.remove("opening")).catch(leave);
}

await speak();
$("#out").addEventListener("click", () => {
  hideRound();
  return signOff();
});
$("#print").addEventListener("click", () => window.print());
$("#copy").addEventListener("click", (event) => busy(event.currentTarget, () => saveCopy(state.shown)).catch(leave));
$("#calendar").addEventListener("click", (event) => busy(event.currentTarget, () => makeCalendar(state.chosen)).catch(leave));
try {
  state.me = await get("/v1/me");
  begin(state.me);
  state.juniors = await juniorsOf(state.me);
  state.chosen = (state.juniors.find(({ id }) => `#${id}` === location.hash) ?? state.juniors[0])?.id ?? null;
  await load();
} catch (problem) {
  if (problem.status === 0) roundAlone();
  leave(problem);
}
