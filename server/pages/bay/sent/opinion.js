// A second opinion on a swing: its pictures without lines and without the report, and what the coach sees in them. What others and the
// report say of the same faults is shown when that is said.

import { call, get } from "../../lib/api.js";
import { announce, busy, el, field, show } from "../../lib/dom.js";
import { faultName } from "../../lib/speech.js";
import { moment } from "../../lib/units.js";
import { capital, say } from "../../lib/words.js";
import { CHECKPOINTS, FAULTS, VIEWS, viewsFor } from "../catalogue.js";
import { fail } from "../fix.js";

const WORDS = ["present", "absent", "cant_see"];

/** The faults that views of these kinds can show. */
const faultsIn = (kinds) => FAULTS.filter((fault) => {
  const { kinds: needed, joined } = viewsFor(fault);
  return joined ? needed.length > 0 && needed.every((kind) => kinds.includes(kind)) : needed.some((kind) => kinds.includes(kind));
});

/** The stills as they were sent, each view in the order of the swing. */
function plainPictures(id, stills) {
  const place = ({ view, checkpoint }) => VIEWS.indexOf(view) * CHECKPOINTS.length + CHECKPOINTS.indexOf(checkpoint);
  const name = ({ view, checkpoint }) => `${say(`view.${view}`)}, ${say(`checkpoint.${checkpoint}`)}`;
  return el("div", { class: "stills" }, [...stills].sort((a, b) => place(a) - place(b)).map((still) => el("figure", { class: "card still" },
    el("img", { src: `/v1/swings/${id}/stills/${still.view}-${still.checkpoint}`, alt: "" }), el("figcaption", {}, name(still)))));
}

/** What was said, fault by fault: one's own, how many others say what, the report. */
function compared({ opinions, core }, mine) {
  const others = opinions.filter(({ account_id: account }) => account !== mine.account_id);
  const said = (fault) => WORDS.map((word) => ({ word, n: others.filter(({ faults }) => faults[fault] === word).length })).filter(({ n }) => n > 0)
    .map(({ word, n }) => `${say(`opinion.${word}`)}${n > 1 ? ` (${n})` : ""}`).join(", ");
  const heads = ["what", "mine", "others", "report"].map((head) => el("th", { scope: "col" }, say(`opinion.column.${head}`)));
  const word = (value) => (value ? say(`opinion.${value}`) : "–");
  const rows = Object.entries(mine.faults).map(([fault, value]) => el("tr", { "data-fault": fault }, el("th", { scope: "row" }, capital(faultName({ fault }))),
    el("td", {}, word(value)), el("td", {}, said(fault) || "–"), el("td", {}, word(core?.[fault]))));
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("opinion.title") },
    el("table", {}, el("thead", {}, el("tr", {}, heads)), el("tbody", {}, rows)));
}

/** #opinion/SWING */
export async function opinionRoom(place, id) {
  const [swing, { stills }, me] = await Promise.all([get(`/v1/swings/${id}`), get(`/v1/swings/${id}/stills`), get("/v1/me")]);
  const student = await get(`/v1/students/${swing.student_id}`);
  const kinds = (swing.document?.views ?? []).map(({ view }) => view);
  const heading = el("h2", { tabindex: "-1" }, say("opinion.title"));
  const below = el("div");
  const ask = (mine, etag) => {
    const fields = faultsIn(kinds).map((fault) => {
      const select = el("select", { name: fault }, el("option", { value: "" }, say("opinion.unsaid")),
        WORDS.map((word) => el("option", { value: word, selected: mine?.faults[fault] === word }, say(`opinion.${word}`))));
      return { fault, select, node: field(say(`question.${fault}`), select) };
    });
    const button = el("button", { class: "main", "data-key": "opinion-say" }, say("opinion.say"));
    const fit = () => { button.disabled = fields.every(({ select }) => select.value === ""); };
    const send = async () => {
      const body = Object.fromEntries(fields.filter(({ select }) => select.value).map(({ fault, select }) => [fault, select.value]));
      await call("PUT", `/v1/swings/${id}/opinion`, { body, ...(etag ? { etag } : {}) });
      announce(say("opinion.said"));
      await draw();
      heading.focus();
    };
    const submit = (event) => {
      event.preventDefault();
      busy(button, send).catch((problem) => {
        fail(problem);
        return problem.slug === "stale" ? draw() : undefined; // said in another window
      }).catch(fail);
    };
    fit();
    return el("form", { class: "card", onsubmit: submit, onchange: fit }, el("div", { class: "pair" }, fields.map(({ node }) => node)), el("p", {}, button));
  };
  const draw = async () => {
    const { data, etag } = await call("GET", `/v1/swings/${id}/opinions`);
    const mine = data.opinions.find(({ account_id: account }) => account === me.id);
    const change = () => {
      show(below, compared(data, mine), ask(mine, etag));
      below.querySelector("select").focus();
    };
    show(below, mine ? [compared(data, mine), swing.voided ? null : el("p", {}, el("button", { type: "button", "data-key": "opinion-change", onclick: change }, say("opinion.change")))]
      : [el("p", {}, say("opinion.blind")), data.given ? el("p", { role: "status" }, say("opinion.given", { n: data.given })) : null, ask()]);
  };
  show(place, el("p", {}, el("a", { class: "button", href: `#report/${id}` }, say("opinion.toReport"))), heading,
    el("p", {}, say("report.of", { name: student.name, at: moment(swing.recorded_at) })), plainPictures(id, stills), below);
  await draw();
}
