// How far coaches see the same, the swings that divide them with their pictures, and what drills did. Nobody is ranked.

import { get } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { drillName, faultName } from "../lib/speech.js";
import { number } from "../lib/units.js";
import { capital, say } from "../lib/words.js";

const SHOWN = 12; // swings that divide

/** ".43 (.20 to .66)", or that there are too few. */
const kappaWords = (kappa) => (kappa.kappa === null ? say("desk.agree.few") : say("desk.agree.kappa", { value: number(kappa.kappa, 2), low: number(kappa.low, 2), high: number(kappa.high, 2) }));

const fault = (name) => capital(faultName({ fault: name }));

/** heads: keys of "desk.agree."; rows: a name and cells. */
const table = (name, heads, rows) => (rows.length === 0 ? el("p", {}, say("common.none")) : el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": name },
  el("table", { class: "rows" }, el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, say(head))))),
    el("tbody", {}, rows.map(([first, ...cells]) => el("tr", {}, el("th", { scope: "row" }, first), cells.map((cell, i) => el("td", { "data-head": say(heads[i + 1]) }, cell))))))));

/** The pictures of a swing, small; none where nobody agreed to any. */
async function pictures(swing) {
  const { stills } = await get(`/v1/swings/${swing}/stills`);
  return stills.filter((still) => ["address", "top", "impact"].includes(still.checkpoint)).slice(0, 3).map((still) =>
    el("img", { src: `/v1/swings/${swing}/stills/${still.view}-${still.checkpoint}`, alt: `${say(`view.${still.view}`)}, ${say(`checkpoint.${still.checkpoint}`)}`, width: still.width, height: still.height, loading: "lazy" }));
}

async function divided(item, names) {
  const said = item.said.map(({ account_id: who, says }) => `${names.get(who) ?? say("desk.audit.gone")}: ${say(`desk.agree.${says}`)}`);
  return el("li", { class: "card" }, el("p", {}, el("a", { href: `/bay.html#report/${item.swing_id}` }, fault(item.fault))), el("div", { class: "stills" }, await pictures(item.swing_id)),
    el("ul", {}, said.map((text) => el("li", {}, text)), item.core ? el("li", {}, `${say("desk.agree.core")}: ${say(`desk.agree.${item.core}`)}`) : null));
}

export async function agreementRoom(place) {
  const [told, drills] = await Promise.all([get("/v1/agreement"), get("/v1/drills/effect")]);
  const names = new Map(told.coaches.map((coach) => [coach.account_id, coach.name ?? say("desk.audit.gone")]));
  const split = await Promise.all(told.divided.slice(0, SHOWN).map((item) => divided(item, names)));
  const effects = drills.effects.filter((item) => item.effect);
  show(place, el("h2", {}, say("desk.agreement")), el("p", {}, say("desk.agree.how")), el("p", {}, say("desk.agree.count", { n: told.opinions, swings: number(told.swings) })),
    el("h3", {}, say("desk.agree.byFault")), table(say("desk.agree.byFault"), ["desk.standard.fault", "desk.agree.coaches", "desk.agree.core"], told.faults.map((row) => [fault(row.fault), kappaWords(row.coaches), kappaWords(row.core.plain)])),
    el("h3", {}, say("desk.agree.pairs")), table(say("desk.agree.pairs"), ["desk.coaches", "desk.agree.coaches"], told.pairs.map((row) => [`${names.get(row.first)} · ${names.get(row.second)}`, kappaWords(row.plain)])),
    el("h3", {}, say("desk.agree.divided")), split.length ? el("ul", { class: "plain divided" }, split) : el("p", {}, say("common.none")),
    el("h3", {}, say("desk.effect")), el("p", { class: "hint" }, say("desk.effect.how", { n: drills.told_from })),
    table(say("desk.effect"), ["desk.effect.drill", "desk.standard.fault", "desk.coach.students", "desk.effect.change", "desk.effect.sessions"], effects.map(({ drill, drill_name: name, fault: of, students, effect }) =>
      [drillName(drill, name), fault(of), number(students), say("desk.agree.kappa", { value: number(effect.mean, 1), low: number(effect.low, 1), high: number(effect.high, 1) }), number(effect.sessions, 1)])));
}
