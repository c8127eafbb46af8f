// Forms that send once at a time; a question before what takes much away, undo for what can be taken back; a file to keep.

import { announce, busy, el, field } from "./dom.js";
import { say, sayProblem } from "./words.js";

const UNDO_MS = 10000;

export const fail = (problem) => announce(sayProblem(problem), { urgent: true });

/** A form whose one button sends. key: the button's data-key. */
export function sendForm(key, label, send, ...children) {
  const button = el("button", { "data-key": key }, label);
  const submit = (event) => {
    event.preventDefault();
    busy(button, send).catch(fail);
  };
  return el("form", { onsubmit: submit }, children, el("p", {}, button));
}

/** A button that does something by itself. */
export const actButton = (key, label, act, properties = {}) =>
  el("button", { type: "button", class: "quiet", "data-key": key, onclick: (event) => busy(event.currentTarget, act).catch(fail), ...properties }, label);

/** Asks over the page whether it is meant, and resolves to that. typed: what has to be written to say yes; more: shown below the text. */
export function ask({ title, text, sure, typed, more }) {
  return new Promise((resolve) => {
    const name = typed ? el("input", { autocomplete: "off", autocapitalize: "none" }) : null;
    const yes = el("button", { class: "danger", "data-key": "ask-sure", disabled: Boolean(typed) }, sure);
    name?.addEventListener("input", () => { yes.disabled = name.value.trim() !== typed.trim(); });
    const submit = (event) => {
      event.preventDefault();
      resolve(true);
      dialog.close();
    };
    const dialog = el("dialog", { class: "ask", "aria-labelledby": "ask-title", onclose: () => { resolve(false); dialog.remove(); } },
      el("form", { onsubmit: submit }, el("h2", { id: "ask-title" }, title), el("p", {}, text), more,
        name ? field(say("ask.typed", { text: typed }), name) : null,
        el("p", { class: "row" }, el("button", { type: "button", "data-key": "ask-stop", onclick: () => dialog.close() }, say("confirm.stop")), yes)));
    document.body.append(dialog);
    dialog.showModal();
  });
}

/** Says what was done, with a button beside it that takes it back for a while. */
export function undoable(text, back) {
  document.querySelector("#undo")?.remove();
  const gone = () => place.remove();
  const undo = async () => {
    await back();
    gone();
    announce(say("ask.undone"));
  };
  const place = el("p", { id: "undo", role: "status" }, text, " ", actButton("undo", say("ask.undo"), undo, { class: "" }));
  document.body.append(place);
  setTimeout(gone, UNDO_MS);
}

/** Hands a text to the reader as a file. */
export function saveFile(name, text, type) {
  const link = el("a", { download: name, href: URL.createObjectURL(new Blob([text], { type })) });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
