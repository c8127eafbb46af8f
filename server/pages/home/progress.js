// Whether it is getting better: a picture and plain sentences for each of the newest fixes, without a number.

import { all, get } from "../lib/api.js";
import { chart } from "../lib/chart.js";
import { $, show } from "../lib/dom.js";

const SHOWN = 4;

/** still: whether this student is the one who is shown. */
export async function showProgress({ id: student, hand }, still) {
  const fixes = await all(`/v1/students/${student}/fixes`, "fixes");
  const charts = (await Promise.all(fixes.slice(0, SHOWN).map(async (fix) => {
    try {
      const progress = await get(`/v1/students/${student}/progress?fix=${fix.id}`);
      return progress.series.length > 0 ? chart(progress, fix, hand) : null;
    } catch (problem) {
      if (problem.status !== 404) throw problem; // nothing was measured for this fix
      return null;
    }
  }))).filter(Boolean);
  if (!still()) return;
  $("#progress").hidden = charts.length === 0;
  show($("#progress div"), charts);
}
