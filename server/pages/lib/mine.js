// My sign-in, for everybody and on every page: the password, the second factor, where else one is signed in.

import { call, get } from "./api.js";
import { codeInput } from "./confirm.js";
import { $, busy, el, field, show } from "./dom.js";
import { moment } from "./units.js";
import { say, sayProblem } from "./words.js";

/** A form whose refusals stand beside its button. */
function form(title, fields, label, task) {
  const told = el("p", { class: "wrong", role: "alert" });
  const good = el("p", { role: "status" });
  const button = el("button", { class: "main" }, label);
  const submit = (event) => {
    event.preventDefault();
    told.textContent = good.textContent = "";
    busy(button, task).then((text) => { good.textContent = text ?? ""; }, (problem) => { told.textContent = sayProblem(problem); });
  };
  return el("form", { class: "card", onsubmit: submit }, title ? el("h3", {}, title) : null, fields, told, good, el("p", {}, button));
}

/** A button that says beside itself why it did not work. */
function press(label, task) {
  const told = el("span", { class: "wrong", role: "alert" });
  const go = (event) => {
    told.textContent = "";
    busy(event.currentTarget, task).catch((problem) => { told.textContent = sayProblem(problem); });
  };
  return el("p", {}, el("button", { type: "button", onclick: go }, label), " ", told);
}

function passwordPart(me) {
  const old = el("input", { type: "password", autocomplete: "current-password", required: true });
  const fresh = el("input", { type: "password", autocomplete: "new-password", minlength: "12", required: true });
  const name = el("input", { type: "text", autocomplete: "username", value: me.sign_in, hidden: true });
  const part = form(say("mine.password"), [name, field(say("mine.password.old"), old), field(say("mine.password.new"), fresh, say("mine.password.hint"))],
    say("mine.password.keep"), async () => {
      try {
        await call("POST", "/v1/me/password", { body: { old: old.value, new: fresh.value } });
      } catch (problem) {
        throw problem.slug === "wrong-password" ? new Error(say("mine.password.wrong")) : problem;
      }
      part.reset();
      name.value = me.sign_in;
      return say("mine.password.done");
    });
  return part;
}

// ---- the second factor ----

/** The picture is a document of the server's own; it is shown as a picture, so nothing in it can act. */
const picture = (svg) =>
  el("img", { class: "qr", alt: say("mine.factor.picture"), src: `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}` });

function codesShown(place, codes, again) {
  const list = el("ul", { class: "codes", id: "recovery" }, codes.map((code) => el("li", {}, el("code", {}, code))));
  show(place, el("h3", { tabindex: "-1" }, say("mine.factor.codes")), el("p", {}, say("mine.factor.codes.why")), list,
    press(say("mine.factor.kept"), again));
  $("h3", place).focus();
}

async function setUp(place, again) {
  const { data } = await call("POST", "/v1/me/second-factor", { body: {} });
  const code = codeInput({ inputmode: "numeric", required: true });
  show(place, el("h3", { tabindex: "-1" }, say("mine.factor.scan")), el("p", {}, say("mine.factor.scan.how")), picture(data.qr_svg),
    el("p", {}, say("mine.factor.type"), " ", el("code", { class: "secret" }, data.secret.match(/.{4}/g).join(" "))),
    form(null, field(say("mine.factor.first"), code), say("mine.factor.on"), async () => {
      const on = await call("POST", "/v1/me/second-factor/confirm", { body: { code: code.value.trim() } });
      codesShown(place, on.data.recovery_codes, again);
    }));
  $("h3", place).focus();
}

function factorPart(me, again) {
  const place = el("section", { class: "card", id: "factor" });
  const off = async () => {
    await call("DELETE", "/v1/me/second-factor");
    await again();
  };
  show(place, el("h3", {}, say("mine.factor")), el("p", {}, say(me.second_factor ? "mine.factor.is" : "mine.factor.why")),
    me.second_factor ? press(say("mine.factor.off"), off) : press(say("mine.factor.start"), () => setUp(place, again)));
  return place;
}

// ---- elsewhere ----

async function sessionsPart(again) {
  const { sessions } = await get("/v1/me/sessions");
  const others = sessions.filter((session) => !session.current);
  const end = async (list) => {
    for (const session of list) await call("DELETE", `/v1/me/sessions/${session.id}`);
    await again();
  };
  const row = (session) => el("li", {}, say(session.device_id ? "mine.session.tablet" : `mine.session.${session.kind}`,
    { since: moment(session.created), seen: moment(session.last_seen) }), press(say("mine.session.end"), () => end([session])));
  return el("section", { class: "card", id: "elsewhere" }, el("h3", {}, say("mine.sessions")),
    others.length === 0 ? el("p", {}, say("mine.sessions.none")) : [
      el("ul", { class: "plain" }, others.map(row)),
      others.length > 1 ? press(say("mine.sessions.end"), () => end(others)) : null]);
}

/** Opens it over the page; the page is as it was when it closes. */
export async function openMine() {
  const before = document.activeElement;
  const parts = el("div");
  const close = el("button", { class: "end", type: "button", onclick: () => dialog.close() }, say("mine.close"));
  const dialog = el("dialog", { class: "ask wide-ask", "aria-labelledby": "mine-title", onclose: () => {
    dialog.remove();
    before?.focus?.();
    window.dispatchEvent(new Event("leadside-mine"));
  } }, el("div", { class: "row ask-top" }, el("h2", { id: "mine-title" }, say("mine.open")), close), parts);
  const fill = async () => {
    const me = await get("/v1/me");
    show(parts, el("p", {}, say("mine.name", { name: me.sign_in })), passwordPart(me), factorPart(me, fill), await sessionsPart(fill));
  };
  document.body.append(dialog);
  dialog.showModal();
  try {
    await fill();
  } catch (problem) {
    show(parts, el("p", { class: "wrong", role: "alert" }, sayProblem(problem)));
  }
}
