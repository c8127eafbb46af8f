// Who needs a look, by one name a test: the same in the inbox, the table and the address.

import { daysSince } from "../lib/units.js";

const FORGOTTEN_DAYS = 28; // nobody has seen them swing
const STUCK_DAYS = 42; // one fix open for so long

/** Each of a row of the roll, and the ids of coaches that are out of use. */
export const TESTS = {
  pain: (row) => row.pain.length > 0 || row.paused_drills > 0,
  retest: (row) => row.retest_due,
  stuck: (row) => row.oldest_fix !== null && daysSince(row.oldest_fix) >= STUCK_DAYS,
  forgotten: (row) => row.seen !== null && daysSince(row.seen) >= FORGOTTEN_DAYS,
  never: (row) => row.seen === null,
  unfixed: (row) => row.open_fixes === 0,
  nobody: (row) => row.team.length === 0,
  unled: (row, off) => row.team.length > 0 && row.team.every((id) => off.has(id)),
  ofAge: (row) => row.comes_of_age !== null,
};
