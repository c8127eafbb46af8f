// The drill library: what there is, the club's own drills, out of use and back.

import { AREAS } from "../lib/body.js";
import { all, call, newKey } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { drillWords, faultName, levelWords } from "../lib/speech.js";
import { say, sayProblem } from "../lib/words.js";

const PLACES = ["range", "home", "garden", "course"];

const fail = (problem) => announce(sayProblem(problem), { urgent: true });
const words = (text) => text.split(",").map((word) => word.trim()).filter(Boolean);

/** Boxes to tick, of values or with one alone: a group is named by its legend, and read as the values that are ticked. */
function boxes(name, legend, values, label, chosen) {
  return el("fieldset", { name }, el("legend", {}, legend), el("div", { class: "filters" },
    values.map((value) => el("label", { class: "tick" }, el("input", { type: "checkbox", name, value, checked: chosen.includes(value) }), label(value)))));
}

/** The form of a drill: its controls carry the names of the interface, by which a refusal finds what the page calls them. */
function editor(drills, faults, drill, save) {
  const times = { required: false, type: "number", min: "1", max: "1000" };
  const line = (name, label, properties) => field(say(`desk.drill.${label}`), el("input", { name, required: true, ...properties }));
  const text = (name, label, required) => field(say(`desk.drill.${label}`), el("textarea", { name, required }, drill?.[name] ?? ""));
  const choose = (name, options) => field(say(`desk.drill.${name}`), el("select", { name }, options.map(([value, words]) => el("option", { value, selected: String(drill?.[name] ?? "") === value }, words))));
  const tick = (name) => el("label", { class: "tick" }, el("input", { type: "checkbox", name, checked: drill?.[name] ?? false }), say(`desk.drill.${name}`));
  const button = el("button", { class: "main" }, say("common.save"));
  const body = () => {
    const data = new FormData(form);
    const texts = ["name", "how_to", "feel", "cautions", "entry", "next", "easier", "why"].map((name) => [name, data.get(name).trim() || null]).filter(([, written]) => written || drill); // null takes one away
    const groups = ["faults", "place", "loads", "contraindicated"].map((name) => [name, data.getAll(name)]);
    const what = data.get("pass_what").trim();
    const pass = what ? { pass: { n: Number(data.get("pass_n")), of: Number(data.get("pass_of")), what } } : drill ? { pass: null } : {};
    const level = data.get("level") ? { level: Number(data.get("level")) } : {};
    return { ...Object.fromEntries([...texts, ...groups]), ...pass, ...level, kit: words(data.get("kit")), minutes: Number(data.get("minutes")), ball: data.has("ball"), balance: data.has("balance") };
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, () => save(body())).catch(fail);
  };
  const form = el("form", { class: "card", onsubmit: submit },
    el("h3", {}, drill ? drill.name : say("desk.drill.new")),
    line("name", "name", { value: drill?.name ?? "" }), text("how_to", "howTo", true), line("feel", "feel", { value: drill?.feel ?? "" }),
    text("cautions", "cautions", false), line("kit", "kit", { required: false, value: (drill?.kit ?? ["club"]).join(", ") }),
    line("minutes", "minutes", { required: false, type: "number", min: "1", max: "60", value: String(drill?.minutes ?? 10) }), tick("ball"), tick("balance"),
    choose("level", [["", say("desk.drill.byKit")], ...[1, 2, 3, 4].map((level) => [String(level), levelWords(level)])]), text("entry", "entry", false),
    el("fieldset", { name: "pass" }, el("legend", {}, say("desk.drill.pass")), line("pass_n", "passN", { ...times, value: String(drill?.pass?.n ?? 8) }),
      line("pass_of", "passOf", { ...times, value: String(drill?.pass?.of ?? 10) }), line("pass_what", "passWhat", { required: false, maxlength: "500", value: drill?.pass?.what ?? "" })),
    choose("next", [["", say("desk.drill.nothing")], ...drills.filter(({ id }) => id !== drill?.id).map((one) => [one.id, drillWords(one).name])]),
    text("easier", "easier", false), text("why", "why", false),
    boxes("faults", say("desk.drill.faults"), faults, (fault) => faultName({ fault }), drill?.faults ?? []),
    boxes("place", say("desk.drill.place"), PLACES, (place) => say(`place.${place}`), drill?.place ?? ["range"]),
    boxes("loads", say("desk.drill.loads"), AREAS, (area) => say(`area.${area}`), drill?.loads ?? []),
    boxes("contraindicated", say("desk.drill.contraindicated"), AREAS, (area) => say(`area.${area}`), drill?.contraindicated ?? []),
    el("p", {}, button));
  return form;
}

export async function drillsRoom(place) {
  const drills = await all("/v1/drills?retired=true&limit=200", "drills");
  const faults = [...new Set(drills.flatMap((drill) => drill.faults))].sort();
  const edit = el("div");
  const again = () => drillsRoom(place);
  const open = (drill) => {
    let key = newKey();
    show(edit, editor(drills, faults, drill, async (body) => {
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
    el("ul", { class: "plain" }, drills.map((drill) => [drill, drillWords(drill)]).map(([drill, said]) => el("li", { class: "card" },
      el("h3", {}, said.name), el("p", {}, said.how_to),
      el("p", {}, levelWords(drill.level)), el("p", { class: "hint" }, drill.faults.map((fault) => faultName({ fault })).join(", ")),
      el("div", { class: "row" },
        el("button", { type: "button", onclick: () => open(drill), "aria-label": say("desk.drill.editOf", { drill: said.name }) }, say("desk.edit")),
        el("button", { type: "button", onclick: (event) => busy(event.currentTarget, () => toggle(drill)).catch(fail), "aria-label": say(drill.retired ? "desk.drill.useOf" : "desk.drill.retireOf", { drill: said.name }) },
          say(drill.retired ? "desk.drill.use" : "desk.drill.retire")))))));
}
