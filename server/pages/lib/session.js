// Whose page this is, and leaving it. A tablet and its browser are shared: what one tab does ends what the others show.

import { beginAnew, leaving, proveBy, signOut, speakFor } from "./api.js";
import { confirmIt } from "./confirm.js";
import { el } from "./dom.js";
import { knowContested } from "./speech.js";
import { onTabs, tellTabs } from "./tabs.js";
import { say } from "./words.js";

let who = null;

/** The page is this account's: every request says so, and a tab that is still another's begins anew. */
export function begin(account) {
  who = account;
  speakFor(account.id);
  knowContested(account.contested);
  proveBy(confirmIt);
  tellTabs("here", { account: account.id });
}

const notice = (...texts) => document.body.replaceChildren(el("main", { class: "narrow" }, el("h1", {}, "Leadside"), texts.map((text) => el("p", { role: "status" }, text))));

/** Signs out, with or without a network. What the page showed goes first: the browser's way back must not find it. */
export async function leave() {
  notice(say("common.leaving"));
  tellTabs("left");
  await signOut(who?.id);
  if (!leaving() || navigator.serviceWorker?.controller) location.replace("/");
  else {
    notice(say("front.left"));
    window.addEventListener("online", () => location.replace("/"));
  }
}

onTabs("here", ({ account }) => { if (who && who.id !== account) beginAnew(); });
onTabs("left", () => {
  document.body.replaceChildren();
  location.replace("/");
});
window.addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
