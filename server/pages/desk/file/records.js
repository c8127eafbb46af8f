// The record as a whole: out to a file, into the archive and back, or erased.

import { call, get } from "../../lib/api.js";
import { announce, el } from "../../lib/dom.js";
import { actButton, ask, saveFile, undoable } from "../../lib/forms.js";
import { say } from "../../lib/words.js";
import { forgetRoll } from "../roll.js";

/** again: called when the student went into the archive or came back. */
export function recordPart(student, again) {
  const path = `/v1/students/${student.id}`;
  const archive = async (archived) => {
    const { etag } = await call("GET", path);
    await call("PATCH", path, { body: { archived }, etag });
    forgetRoll();
    await again();
  };
  const put = async () => {
    await archive(!student.archived);
    undoable(say(student.archived ? "desk.record.isBack" : "desk.record.isAway", { name: student.name }), () => archive(Boolean(student.archived)));
  };
  const save = async () => saveFile(`${student.name}.json`, JSON.stringify(await get(`${path}/export`), null, 1), "application/json");
  const erase = async () => {
    if (!(await ask({ title: say("desk.record.eraseSure", { name: student.name }), text: say("desk.record.eraseWhy"), sure: say("desk.record.erase"), typed: student.name }))) return;
    await call("DELETE", path);
    forgetRoll();
    announce(say("desk.record.erased"));
    location.hash = "#students";
  };
  return el("section", { "data-part": "record" }, el("h3", {}, say("desk.record")), el("p", { class: "row" },
    actButton("export", say("desk.record.export"), save), actButton("archive", say(student.archived ? "desk.record.unarchive" : "desk.record.archive"), put),
    actButton("erase", say("desk.record.erase"), erase, { class: "danger" })),
  el("p", {}, el("a", { href: `#audit?student=${student.id}` }, say("desk.record.audit"))));
}
