// What earlier versions of the house standard said of the same swing or lesson: read, and nothing more.

import { get } from "../../lib/api.js";
import { el, show } from "../../lib/dom.js";
import { actButton, fail } from "../../lib/forms.js";
import { say } from "../../lib/words.js";

/** As judged then; newest: shows what holds now. */
export const thenNotice = ({ number, version }, newest) => el("div", { class: "card then", role: "status" }, el("p", {}, el("strong", {}, say("report.then", { n: number, version }))),
  el("p", {}, actButton("newest", say("report.newest"), newest)));

/** Behind its summary; nothing where there was no earlier version. open(number) shows what that one said, and rejects with 404 where it said nothing. */
export function earlierPart({ number }, open) {
  if (number < 2) return null;
  const list = el("div");
  const row = (version) => {
    const told = el("span", { role: "status" });
    const look = () => open(version.number).catch((problem) => {
      if (problem.status !== 404) throw problem;
      told.textContent = say("report.then.none");
    });
    return el("li", {}, actButton(`then-${version.number}`, say("report.thenOf", { n: version.number, version: version.label }), look), " ", told);
  };
  const fill = async () => {
    const { versions } = await get("/v1/standard/versions");
    show(list, el("ul", { class: "plain" }, versions.filter((version) => version.number < number).map(row)));
  };
  const place = el("details", { class: "no-print", "data-part": "earlier", ontoggle: () => { if (place.open && !list.firstChild) fill().catch(fail); } }, el("summary", {}, say("report.earlier")), list);
  return place;
}
