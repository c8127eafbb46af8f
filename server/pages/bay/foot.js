// The bar at the foot of a swing's room: what is asked for and what happened, the one next action, and sending. It never scrolls away and
// lies over no picture.

import { $, el, show } from "../lib/dom.js";

export class Foot {
  constructor(send) {
    this.send = send;
    this.asked = el("p", { class: "asked", role: "status" });
    this.said = $("#said") ?? el("p", { id: "said", role: "status", "aria-live": "polite" });
    this.more = el("div", { class: "row more" });
    this.next = el("div", { class: "next" });
    this.node = el("div", { class: "foot" }, el("div", { class: "told" }, this.asked, this.said), this.more, el("div", { class: "row go" }, this.next, send));
  }

  /** more: quiet buttons; next: [key, text, act] of the next action, or null: then it is sending. aside: that one only leaves out what is asked for in
   * the picture, and is not filled. */
  set({ more = [], next = null, aside = false }) {
    this.aside = aside;
    const held = document.activeElement?.dataset?.key;
    show(this.more, more);
    show(this.next, next ? el("button", { type: "button", "data-key": next[0], onclick: next[2] }, next[1]) : "");
    this.settle();
    if (held && document.activeElement === document.body) $(`[data-key="${held}"]`, this.node)?.focus({ preventScroll: true });
  }

  /** One button is filled: the next action, or sending where nothing else is next; none where it is in the picture. */
  settle() {
    const next = this.next.firstElementChild;
    next?.classList.toggle("main", !this.aside);
    this.send.classList.toggle("main", !next);
  }

  /** The focus goes to what is next. */
  lead() {
    (this.next.firstElementChild ?? this.send).focus({ preventScroll: true });
  }

  /** The room is left: what was said last stays to be read. */
  end() {
    document.body.append(this.said);
  }
}
