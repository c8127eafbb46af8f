// The front door: sign in, the first password of one's own, and on to the role's own page.

import { call, device, get, leaving, placeOf, signIn, signOutNow } from "./lib/api.js";
import { $, busy, el } from "./lib/dom.js";
import { lastSession } from "./lib/storage.js";
import { choose, language, languages, say, sayProblem, speak } from "./lib/words.js";

const onwards = (account) => location.replace(placeOf(account.role));

function askFresh(old) {
  $("#enter").hidden = true;
  $("#fresh").hidden = false;
  $("#old").value = old ?? "";
  $(old ? "#new" : "#old").focus();
}

function whenWrong(problem) {
  $("#wrong").textContent = sayProblem(problem);
}

/** The account asks for a code as well: its field appears, and the form is sent again with it. */
function askCode(place, problem) {
  if (problem.slug !== "second-factor-needed" || !$(place).hidden) throw problem;
  $(place).hidden = false;
  $("input", $(place)).required = true;
  $("input", $(place)).focus();
  $("#wrong").textContent = sayProblem(problem);
}

const codeOf = (place) => $("input", $(place)).value.trim();

/** Runs what a form asks for, its button out of reach meanwhile. */
function onSubmit(form, task) {
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    $("#wrong").textContent = "";
    busy($("button", form), task).catch(whenWrong);
  });
}

async function enter() {
  const password = $("#password").value;
  const answer = await signIn($("#name").value.trim(), password, codeOf("#second")).catch((problem) => askCode("#second", problem));
  if (!answer) return;
  const { account } = answer;
  if (account.password_temporary) askFresh(password);
  else onwards(account);
}

async function keepFresh() {
  await call("POST", "/v1/me/password", { body: { old: $("#old").value, new: $("#new").value } });
  onwards(await get("/v1/me"));
}

/** A link that is over opens nothing: who has a password already signs in. */
function askEnter() {
  $("#fresh").hidden = true;
  $("#enter").hidden = false;
  $("#name").focus();
}

/** Who came by a link chose a password and no name: without the name nobody can come back. */
function tellName(account) {
  $("#fresh").hidden = true;
  $("#joined").hidden = false;
  $("#joined-name").textContent = account.sign_in;
  $("#joined button").addEventListener("click", () => onwards(account));
  $("#joined h2").focus();
}

/** A one-time link: whoever opens it chooses a password and is in. The token stays behind the #, so it is in no log. */
function askJoin(token) {
  history.replaceState(null, "", "/");
  $("#enter").hidden = true;
  $("#fresh").hidden = false;
  $("#fresh h2").textContent = say("front.join");
  $("#fresh p").textContent = say("front.join.why");
  $("#old").closest("p").hidden = true;
  $("#old").required = false;
  onSubmit($("#fresh"), async () => {
    const code = codeOf("#fresh-second");
    try {
      const { data } = await call("POST", "/v1/join", { body: { token, password: $("#new").value, cookie: true, ...(code ? { code } : {}) } });
      tellName(data.account);
    } catch (problem) {
      if (problem.slug === "link-over") askEnter();
      askCode("#fresh-second", problem);
    }
  });
  $("#new").focus();
}

function offerLanguages() {
  const select = $("#language");
  for (const [tag, { name }] of Object.entries(languages)) select.append(el("option", { value: tag }, name));
  select.value = language;
  select.addEventListener("change", () => choose(select.value));
}

const AGAIN_MS = 15000;

/** Somebody has left here without a network: the server is told as soon as it can be. */
async function tellServer() {
  $("#left").hidden = !leaving();
  if (!leaving()) return;
  await signOutNow().catch(() => {});
  $("#left").hidden = !leaving();
}

/** Without a network nobody can sign in; who is signed in goes on at the bay, which opens without one. */
async function withoutNetwork() {
  if (!leaving() && (await lastSession().catch(() => undefined))) location.replace("/bay.html");
  else $("#wrong").textContent = say("front.offline");
}

await speak();
offerLanguages();
window.addEventListener("online", () => void tellServer().then(() => { $("#wrong").textContent = ""; }));
setInterval(() => void tellServer(), AGAIN_MS);
$("#tablet").hidden = !device.token();
onSubmit($("#enter"), enter);
const joining = /^#join=([\w-]+)$/.exec(location.hash);
if (joining) askJoin(joining[1]);
else {
  onSubmit($("#fresh"), keepFresh);
  try {
    const me = await get("/v1/me");
    if (me.password_temporary) askFresh();
    else onwards(me);
  } catch (problem) {
    if (problem.status === 0) await withoutNetwork();
    if (document.activeElement === document.body) $("#name").focus(); // who types already is not torn from the password
  }
  $("#left").hidden = !leaving();
}
