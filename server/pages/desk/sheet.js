// A student's file beside the list: on a wide screen it opens at the list's side, under an address of its own, and the list stays
// as it is. Where there is no room for both the file is a page.

import { el, show } from "../lib/dom.js";
import { fail } from "../lib/forms.js";
import { say } from "../lib/words.js";
import { fileRoom } from "./file/file.js";

const roomy = matchMedia("(min-width: 76rem)");

/** body: the table's rows, whose links name a student. query(): the list's own part of the address. open(id): beside the list; without
 * an id it closes. address(): the list's with what is open. id: what is to be opened first. */
export function sheetPart(body, query, id) {
  const node = el("aside", { class: "beside-sheet", "aria-label": say("desk.sheet"), hidden: true });
  let shown = (roomy.matches && id) || null;
  const linkOf = (id) => body.querySelector(`a[href="#story/${id}"]`);
  const address = () => `#students${shown ? `/${shown}` : ""}${query()}`;
  const mark = () => {
    for (const row of body.rows) row.classList.toggle("shown", shown !== null && row.querySelector("a")?.hash === `#story/${shown}`);
  };

  async function open(id) {
    const was = shown;
    if (id && !roomy.matches) {
      location.replace(`#story/${id}`);
      return;
    }
    shown = id || null;
    node.hidden = shown === null;
    mark();
    if (shown === null) {
      show(node);
      if (was) linkOf(was)?.focus();
      return;
    }
    const place = el("div", { class: "opening" });
    show(node, el("p", { class: "row" }, el("a", { class: "button quiet", href: `#students${query()}`, "data-key": "close" }, say("desk.sheet.close")),
      el("a", { class: "button quiet", href: `#story/${id}` }, say("desk.sheet.whole"))), place);
    node.scrollTop = 0;
    await fileRoom(place, id, { beside: true }).catch(fail);
    place.classList.remove("opening");
    if (shown === id) place.querySelector("h2")?.focus({ preventScroll: true });
  }

  body.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#story/']");
    if (!link || !roomy.matches || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    location.hash = `#students/${link.hash.split("/")[1]}${query()}`;
  });
  node.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && !event.defaultPrevented && !event.target.closest("dialog")) location.hash = `#students${query()}`;
  });
  return { node, open, address, mark };
}
