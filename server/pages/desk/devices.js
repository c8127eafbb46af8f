// Range tablets: enrol the one in hand, see the others, end one.

import { all, call, device, get, newKey } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { moment } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";

const fail = (problem) => (problem.slug === "not-signed-in" ? location.replace("/") : announce(sayProblem(problem), { urgent: true }));

export async function devicesRoom(place) {
  const list = el("tbody");
  const table = el("table", {}, el("caption", {}, say("desk.devices")), list);
  const carried = (await get("/v1/me")).device_id;
  const here = () => device.id() ?? carried; // what this browser is enrolled as
  const again = async () => {
    const devices = await all("/v1/devices", "devices");
    table.hidden = devices.length === 0;
    show(list, devices.map((item) => {
      const end = async () => {
        await call("PATCH", `/v1/devices/${item.id}`, { body: { revoked: true }, etag: `"${item.version}"` });
        if (item.id === here()) device.forget(); // else nobody could sign in on this browser any more
        await again();
      };
      return el("tr", {}, el("th", { scope: "row" }, item.name), el("td", {}, item.created ? moment(item.created) : ""),
        el("td", {}, item.revoked ? say("desk.device.ended")
          : el("button", { type: "button", onclick: (event) => busy(event.currentTarget, end).catch(fail) }, say("desk.device.end"))));
    }));
  };
  const name = el("input", { required: true, maxlength: "100" });
  const button = el("button", { class: "main" }, say("desk.device.enrol"));
  let key = newKey();
  const enrol = async () => {
    const { data } = await call("POST", "/v1/devices", { body: { name: name.value.trim() }, key });
    key = newKey();
    device.enrol(data.token, data.id);
    name.value = "";
    announce(say("desk.device.enrolled"));
    await again();
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, enrol).catch(fail);
  };
  await again();
  show(place, el("h2", {}, say("desk.devices")), el("p", {}, say("desk.device.how")),
    el("form", { class: "card", onsubmit: submit }, field(say("desk.device.name"), name), el("p", {}, button)), table);
}
