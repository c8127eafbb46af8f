// Every student of the club as the overview has them, fetched page by page; what one room has fetched another shows at once, while
// it is fetched anew.

import { call } from "../lib/api.js";
import { byName } from "../lib/units.js";

const PAGES_A_TIME = 10; // told of so many pages, a long roll is drawn a few times only

let kept = null;

/** When somebody was last seen to swing; null = never. */
const seen = (row) => [row.last_swing, row.last_lesson].filter(Boolean).sort().at(-1) ?? null;

/** A row with what it is sorted and searched by. */
const dressed = (row, names) => ({ ...row, coachNames: row.team.map((id) => names.get(id) ?? "?"), sought: `${row.name} ${row.member_number ?? ""}`.toLocaleLowerCase(), seen: seen(row) });

function told(coaches, rows, whole) {
  rows.sort((a, b) => byName(a.name, b.name)).forEach((row, i) => { row.rank = i; });
  return { coaches, rows, whole, off: new Set(coaches.filter((coach) => coach.disabled).map((coach) => coach.account_id)) };
}

let listAt = "#students";

/** Where the list of students stands, with its filters: the way back to it. */
export const keepList = (address) => { listAt = address; };
export const listAddress = () => listAt;

/** What was kept no longer holds. */
export const forgetRoll = () => { kept = null; };
export const rollStands = () => kept !== null;

/** Calls tell({coaches, rows, whole, off}) as the rows come in: at once with those kept from before, again when more are here, and
 * with whole when it is all. off: ids of coaches out of use. place: when it is shown no longer, the rest is not fetched. */
export async function roll(place, tell) {
  if (kept) tell(kept);
  const rows = [];
  let coaches = null;
  let names = null;
  for (let next = "/v1/overview?limit=200", pages = 1; next; pages++) {
    const { data, next: after } = await call("GET", next);
    coaches ??= data.coaches;
    names ??= new Map(coaches.map((coach) => [coach.account_id, coach.name]));
    rows.push(...data.students.map((row) => dressed(row, names)));
    next = after;
    if (next && !kept && pages % PAGES_A_TIME === 1) tell(told(coaches, [...rows], false));
    if (pages > 1 && !place.isConnected) return;
  }
  kept = told(coaches, rows, true);
  tell(kept);
}
