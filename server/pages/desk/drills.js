// The drill library: what there is, the club's own drills, out of use and back.

import { AREAS } from "../lib/body.js";
import { all, call, newKey } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { say, sayProblem } from "../lib/words.js";

const PLACES = ["range", "home", "garden"];

const fail = (problem) => announce(problem.path ? `${problem.path}: ${problem.message}` : sayProblem(problem), { urgent: true });
const words = (input) => input.value.split(",").map((word) => word.trim()).filter(Boolean);

function boxes(legend, values, label, chosen) {
  const inputs = values.map((value) => el("input", { type: "checkbox", value, checked: chosen.includes(value) }));
  const set = el("fieldset", {}, el("legend", {}, legend), el("div", { class: "filters" }, inputs.map((input) => el("label", { class: "tick" }, input, label(input.value)))));
  return [set, () => inputs.filter((input) => input.checked).map((input) => input.value)];
}

function editor(faults, drill, save) {
  const text = (value, tag = "textarea") => el(tag, { required: true, ...(tag === "input" ? { value: value ?? "" } : {}) }, tag === "textarea" ? value ?? "" : null);
  const name = text(drill?.name, "input");
  const howTo = text(drill?.how_to);
  const feel = text(drill?.feel, "input");
  const cautions = el("textarea", {}, drill?.cautions ?? "");
  const kit = el("input", { value: (drill?.kit ?? ["club"]).join(", ") });
  const minutes = el("input", { type: "number", min: "1", max: "60", value: String(drill?.minutes ?? 10) });
  const ball = el("input", { type: "checkbox", checked: drill?.ball ?? false });
  const balance = el("input", { type: "checkbox", checked: drill?.balance ?? false });
  const [faultSet, faultsOf] = boxes(say("desk.drill.faults"), faults, (f) => say(`fault.${f}`), drill?.faults ?? []);
  const [placeSet, placesOf] = boxes(say("desk.drill.place"), PLACES, (p) => say(`place.${p}`), drill?.place ?? ["range"]);
  const [loadSet, loadsOf] = boxes(say("desk.drill.loads"), AREAS, (a) => say(`area.${a}`), drill?.loads ?? []);
  const [bannedSet, bannedOf] = boxes(say("desk.drill.contraindicated"), AREAS, (a) => say(`area.${a}`), drill?.contraindicated ?? []);
  const button = el("button", { class: "main" }, say("common.save"));
  const submit = (event) => {
    event.preventDefault();
    busy(button, () => save({
      name: name.value.trim(), how_to: howTo.value.trim(), feel: feel.value.trim(), cautions: cautions.value.trim(), kit: words(kit),
      minutes: Number(minutes.value), ball: ball.checked, balance: balance.checked, faults: faultsOf(), place: placesOf(),
      loads: loadsOf(), contraindicated: bannedOf(),
    })).catch(fail);
  };
  return el("form", { class: "card", onsubmit: submit },
    el("h3", {}, drill ? drill.name : say("desk.drill.new")),
    field(say("desk.drill.name"), name), field(say("desk.drill.howTo"), howTo), field(say("desk.drill.feel"), feel),
    field(say("desk.drill.cautions"), cautions), field(say("desk.drill.kit"), kit), field(say("desk.drill.minutes"), minutes),
    el("label", { class: "tick" }, ball, say("desk.drill.ball")), el("label", { class: "tick" }, balance, say("desk.drill.balance")),
    faultSet, placeSet, loadSet, bannedSet, el("p", {}, button));
}

export async function drillsRoom(place) {
  const drills = await all("/v1/drills?retired=true&limit=200", "drills");
  const faults = [...new Set(drills.flatMap((drill) => drill.faults))].sort();
  const edit = el("div");
  const again = () => drillsRoom(place);
  const open = (drill) => {
    let key = newKey();
    show(edit, editor(faults, drill, async (body) => {
      if (drill) await call("PATCH", `/v1/drills/${drill.id}`, { body, etag: `"${drill.version}"` });
      else await call("POST", "/v1/drills", { body, key });
      key = newKey();
      await again();
    }));
    edit.querySelector("input").focus();
  };
  const toggle = (drill) => call("PATCH", `/v1/drills/${drill.id}`, { body: { retired: !drill.retired }, etag: `"${drill.version}"` }).then(again);
  show(place, el("h2", {}, say("desk.drills")),
    el("p", {}, el("button", { type: "button", class: "main", onclick: () => open(null) }, say("desk.drill.new"))), edit,
    el("ul", { class: "plain" }, drills.map((drill) => el("li", { class: "card" },
      el("h3", {}, drill.name), el("p", {}, drill.how_to),
      el("p", { class: "hint" }, drill.faults.map((fault) => say(`fault.${fault}`)).join(", ")),
      el("div", { class: "row" },
        el("button", { type: "button", onclick: () => open(drill), "aria-label": say("desk.drill.editOf", { drill: drill.name }) }, say("desk.edit")),
        el("button", { type: "button", onclick: (event) => busy(event.currentTarget, () => toggle(drill)).catch(fail), "aria-label": say(drill.retired ? "desk.drill.useOf" : "desk.drill.retireOf", { drill: drill.name }) },
          say(drill.retired ? "desk.drill.use" : "desk.drill.retire")))))));
}
