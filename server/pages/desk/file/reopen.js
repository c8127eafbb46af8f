// Opening a fix again that has ended, with the reason; what speaks against it is shown, and asks why all the same.

import { call } from "../../lib/api.js";
import { againstPlace } from "../../lib/care.js";
import { announce, busy, el, field, show } from "../../lib/dom.js";
import { fail } from "../../lib/forms.js";
import { faultName } from "../../lib/speech.js";
import { say } from "../../lib/words.js";

/** again: called when it is open, or when somebody else changed it first. */
export function reopenPlace(fix, again) {
  const place = el("div", { "data-fix": fix.id });
  const fault = faultName(fix);
  const draw = (focus) => {
    const begin = el("button", { type: "button", class: "quiet", "data-key": "reopen", "aria-label": say("student.openOf", { fault }), onclick: ask }, say("student.open"));
    show(place, begin);
    if (focus) begin.focus();
  };
  const ask = () => {
    const why = el("input", { name: "reason", required: true, maxlength: "500", autocomplete: "off" });
    const against = againstPlace();
    const sure = el("button", { class: "main", "data-key": "reopen-sure" }, say("student.sure.open"));
    const send = async () => {
      await call("PATCH", `/v1/fixes/${fix.id}`, { body: { status: "open", reason: why.value.trim(), ...against.overrule() }, etag: `"${fix.version}"` });
      announce(say("student.opened", { fault }));
      await again();
    };
    const submit = (event) => {
      event.preventDefault();
      busy(sure, send).catch((problem) => {
        fail(problem);
        against.told(problem);
        return problem.slug === "stale" ? again() : undefined;
      }).catch(fail);
    };
    show(place, el("form", { onsubmit: submit }, field(say("student.why"), why, say("student.why.needed")), against,
      el("p", { class: "row" }, sure, el("button", { type: "button", "data-key": "notNow", onclick: () => draw(true) }, say("report.notNow")))));
    why.focus();
  };
  draw(false);
  return place;
}
