// Saying the password again: what gives much away, or takes it, asks for a proof that is not older than ten minutes.

import { call, get } from "./api.js";
import { busy, el, field } from "./dom.js";
import { say, sayProblem } from "./words.js";

let asking = null;

/** A field for the six digits of an app, or a recovery code. */
export const codeInput = (properties = {}) =>
  el("input", { autocomplete: "one-time-code", autocapitalize: "none", spellcheck: "false", maxlength: "40", ...properties });

function dialogOf(resolve) {
  const password = el("input", { type: "password", autocomplete: "current-password", required: true });
  const code = codeInput();
  const codeField = field(say("confirm.code"), code, say("confirm.code.hint"));
  const wrong = el("p", { class: "wrong", role: "alert" });
  const button = el("button", { class: "main" }, say("confirm.go"));
  codeField.hidden = true;
  const needCode = () => {
    if (!codeField.hidden) return;
    codeField.hidden = false;
    code.required = true;
    code.focus();
  };
  const send = async () => {
    wrong.textContent = "";
    const body = { password: password.value };
    if (!codeField.hidden) body.code = code.value.trim();
    try {
      await call("POST", "/v1/me/confirm", { body });
      resolve(true);
      dialog.close();
    } catch (problem) {
      if (problem.slug === "second-factor-needed") needCode();
      wrong.textContent = problem.slug === "wrong-password" ? say("confirm.wrong") : sayProblem(problem);
    }
  };
  const submit = (event) => {
    event.preventDefault();
    void busy(button, send);
  };
  const dialog = el("dialog", { class: "ask", "aria-labelledby": "confirm-title", onclose: () => { resolve(false); dialog.remove(); } },
    el("form", { onsubmit: submit },
      el("h2", { id: "confirm-title" }, say("confirm.title")), el("p", {}, say("confirm.why")),
      field(say("front.password"), password), codeField, wrong,
      el("p", { class: "row" }, button, el("button", { type: "button", onclick: () => dialog.close() }, say("confirm.stop")))));
  get("/v1/me").then((me) => { if (me.second_factor) { codeField.hidden = false; code.required = true; } }).catch(() => {});
  return { dialog, password };
}

/** Asks until it is proved (true) or given up (false); several requests at once ask once. */
export function confirmIt() {
  asking ??= new Promise((resolve) => {
    const { dialog, password } = dialogOf(resolve);
    document.body.append(dialog);
    dialog.showModal();
    password.focus();
  }).finally(() => { asking = null; });
  return asking;
}
