// One of several at a time: by a swipe, by what stands above them, or by the arrow keys. On paper all of them stand.

import { el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";

const SWIPE_PX = 56; // so far across, and twice as far as up or down

let kept = null; // which was shown last: a sheet that is drawn anew shows it again

/** parts: [{id, name, order, node}], each with something of tabindex in it that the focus goes to. A part alone stands by itself. */
export function pager(parts) {
  if (parts.length < 2) return parts.map(({ node }) => node);
  let at = Math.max(0, parts.findIndex(({ id }) => id === kept));
  const where = el("p", { class: "where" });
  const arrow = (key, by, sign) => el("button", { type: "button", class: "quiet", "data-key": key, onclick: () => turn(by) }, el("span", { "aria-hidden": "true" }, sign));
  const [back, on] = [arrow("drill-before", -1, "‹"), arrow("drill-next", 1, "›")];
  const place = el("div", { class: "pager" }, el("div", { class: "row turn no-print", role: "group", "aria-label": say("home.drills") }, back, where, on), parts.map(({ node }) => node));
  const draw = () => {
    parts.forEach(({ node }, i) => node.classList.toggle("away", i !== at));
    show(where, el("strong", {}, parts[at].order), " · ", say("home.drillOf", { n: at + 1, of: parts.length }));
    for (const [button, by, key] of [[back, -1, "home.drillBefore"], [on, 1, "home.drillNext"]]) {
      const to = parts[at + by];
      button.disabled = !to;
      button.setAttribute("aria-label", to ? say(key, { drill: to.name }) : say("home.drillNone"));
    }
  };
  function turn(by) {
    if (!parts[at + by]) return;
    at += by;
    kept = parts[at].id;
    draw();
    parts[at].node.querySelector("h3[tabindex]").focus();
  }
  const ahead = () => (document.documentElement.dir === "rtl" ? -1 : 1);
  place.addEventListener("keydown", (event) => {
    if (event.target.matches("input, textarea, select") || event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === "ArrowRight") turn(ahead());
    if (event.key === "ArrowLeft") turn(-ahead());
  });
  let from = null;
  place.addEventListener("pointerdown", (event) => { from = event.isPrimary && event.pointerType !== "mouse" ? event : null; });
  place.addEventListener("pointerup", (event) => {
    if (!from) return;
    const [across, down] = [event.clientX - from.clientX, event.clientY - from.clientY];
    if (Math.abs(across) >= SWIPE_PX && Math.abs(across) > 2 * Math.abs(down)) turn(across < 0 ? ahead() : -ahead());
    from = null;
  });
  draw();
  return place;
}
