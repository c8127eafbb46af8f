// The head professional's desk: which room is open, and what it is asked for, stands in the address, so that back and reload work:
// #room/id/part?name=value

import { get } from "../lib/api.js";
import { $, el, show } from "../lib/dom.js";
import { ask } from "../lib/forms.js";
import { begin, leave } from "../lib/session.js";
import { isUnsaved, keepUnsaved } from "./unsaved.js";
import { say, sayProblem, speak } from "../lib/words.js";
import { inboxRoom } from "./inbox.js";
import { studentsRoom } from "./students.js";
import { fileRoom } from "./file/file.js";
import { coachesRoom, coachRoom } from "./coaches.js";
import { accountsRoom } from "./accounts.js";
import { devicesRoom } from "./devices.js";
import { drillsRoom } from "./drills.js";
import { standardRoom } from "./standard.js";
import { agreementRoom } from "./agreement.js";
import { figuresRoom } from "./figures.js";
import { importRoom } from "./import.js";
import { auditRoom } from "./audit.js";

const ROOMS = {
  inbox: inboxRoom,
  students: studentsRoom,
  story: fileRoom, // of one student: reached from the table
  coaches: coachesRoom,
  coach: coachRoom, // one of them
  agreement: agreementRoom,
  figures: figuresRoom,
  import: importRoom, // reached from the students
  accounts: accountsRoom,
  devices: devicesRoom,
  drills: drillsRoom,
  standard: standardRoom,
  audit: auditRoom,
};

const UNDER = { story: "students", import: "students", coach: "coaches" }; // rooms that stand in no list: what they belong to

function links(open) {
  return Object.keys(ROOMS).filter((name) => !(name in UNDER))
    .map((name) => el("a", { href: `#${name}`, "aria-current": name === open ? "page" : name === UNDER[open] ? "true" : undefined }, say(`desk.${name}`)));
}

let here = location.href;

/** To the room of the address; what is not saved is asked about first, and a no goes back to where it was. */
async function move() {
  if (location.href === here) return;
  const to = location.href;
  if (isUnsaved()) {
    history.replaceState(history.state, "", here);
    if (!(await ask({ title: say("ask.unsaved"), text: say("ask.unsaved.why"), sure: say("ask.unsaved.go") }))) return;
    keepUnsaved(() => false);
    history.replaceState(history.state, "", to);
  }
  here = to;
  const { room, id, asked } = parts();
  if (room === open && stay?.(id, asked ? `?${asked}` : "")) return;
  await enter();
  arrive();
}

/** A head without a second factor is reminded, on the first page, until there is one. */
let guarded = true;
const remind = () => { $("#unguarded").hidden = guarded || !$("#rooms [href='#inbox'][aria-current]"); };

let entered = 0;
let stay = null; // the open room's: (id, query) turns to another part of its address, or says that it has to be opened anew
let open = "";

/** Room, id and what it is asked for. */
function parts() {
  const [path, asked] = location.hash.slice(1).split("?");
  const [name, id] = path.split("/");
  return { room: Object.hasOwn(ROOMS, name) ? name : "inbox", id, asked };
}

/** Opens the room of the address, each in a place of its own: one that is slow to open draws nothing over a later one. It is
 * shown when it is whole, or when the room says so by taking "opening" off it. */
async function enter() {
  const turn = ++entered;
  const place = el("div", { class: "opening" });
  const { room, id, asked } = parts();
  open = room;
  stay = null;
  $("#wrong").textContent = "";
  show($("#rooms"), links(room));
  remind();
  $("#rooms [aria-current]")?.scrollIntoView({ block: "nearest", inline: "center" });
  show($("#room"), place);
  try {
    const stays = await ROOMS[room](place, id, new URLSearchParams(asked));
    if (turn === entered) stay = stays ?? null;
  } catch (problem) {
    if (problem.slug === "not-signed-in") location.replace("/");
    else if (turn === entered) $("#wrong").textContent = sayProblem(problem);
  } finally {
    place.classList.remove("opening");
  }
}

/** A room opens at its top, or at the part that the address names. */
function arrive() {
  const name = location.hash.split("?")[0].split("/")[2];
  const part = name && [...document.querySelectorAll("#room [data-part]")].find((node) => node.dataset.part === name);
  window.scrollTo(0, 0);
  part?.scrollIntoView();
  (part?.querySelector("h3[tabindex]") ?? $("#room")).focus({ preventScroll: true });
}

await speak();
show($("#rooms"), links(parts().room));
$("#out").addEventListener("click", leave);
try {
  const me = await get("/v1/me");
  if (me.role !== "head") location.replace("/");
  const know = ({ second_factor: on }) => {
    guarded = on;
    remind();
    $("#content").classList.remove("opening");
  };
  know(me);
  window.addEventListener("leadside-mine", () => get("/v1/me").then(know).catch(() => {}));
  begin(me);
  history.scrollRestoration = "manual"; // a room opens at its top, also on the way back
  window.addEventListener("hashchange", move);
  await enter();
} catch (problem) {
  if (problem.slug === "not-signed-in") location.replace("/");
  else $("#wrong").textContent = sayProblem(problem);
  $("#content").classList.remove("opening");
}
