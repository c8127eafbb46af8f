// One tablet, several coaches: what is kept belongs to who made it and goes out in that name only; signing out works without a
// network; a tablet that was ended locks nobody out; work from before entries had an owner waits for somebody to claim it.
import { randomUUID } from "node:crypto";

import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, targets } from "./support.mjs";

const house = await club(["--no-throttle"]);
const chromium = await browser();
const tokens = { coach1: await house.token("coach1"), coach2: await house.token("coach2"), head: await house.token("head") };
const ids = {};
const own = {};
for (const name of ["coach1", "coach2"]) {
  ids[name] = (await house.call("GET", "/v1/me", tokens[name])).data.id;
  own[name] = (await house.call("GET", "/v1/students?limit=200", tokens[name])).data.students;
}
const everybody = (await house.call("GET", "/v1/students?limit=200", tokens.head)).data.students;
const only = (name, other) => own[name].filter((item) => !own[other].some(({ id }) => id === item.id) && !(item.junior && !item.consent));
const shared = own.coach1.filter((item) => own.coach2.some(({ id }) => id === item.id));
console.log(`${only("coach1", "coach2").length} students of coach1 alone, ${only("coach2", "coach1").length} of coach2 alone, ${shared.length} of both`);

/** Every swing the server has: {recorded_at, uploaded_by, student, id}. */
async function stored() {
  const all = [];
  for (const student of everybody) {
    for (let next = `/v1/students/${student.id}/swings?limit=200`; next;) {
      const { data } = await house.call("GET", next, tokens.head);
      all.push(...data.swings.map((swing) => ({ ...swing, student: student.id })));
      next = data.swings.length === 200 ? `/v1/students/${student.id}/swings?limit=200&after=${data.swings.at(-1).id}` : null;
    }
  }
  return all;
}
const before = new Set((await stored()).map(({ id }) => id));

/** What lies on the device, whoever it belongs to, read past the pages' own code. */
const onDevice = (page) => page.evaluate(() => new Promise((resolve) => {
  const asked = indexedDB.open("leadside");
  asked.onsuccess = () => {
    const out = {};
    const stores = ["drafts", "stills", "films", "outbox", "lists"];
    const transaction = asked.result.transaction(stores);
    for (const store of stores) transaction.objectStore(store).getAll().onsuccess = ({ target }) => { out[store] = target.result.map(({ id, owner, ...rest }) => ({ id, owner, text: JSON.stringify(rest) })); };
    transaction.oncomplete = () => { asked.result.close(); resolve(out); };
  };
}));

const page = await open(chromium, house.origin, { touch: true });
const context = page.context();
const here = (where = page) => where.evaluate(() => location.pathname + location.hash);

async function enter(name) {
  await signIn(page, house.origin, name, house.password);
  await page.waitForSelector(".names a");
}
async function leave() {
  await page.click("#out");
  await page.waitForSelector("#enter:not([hidden])");
}

/** A swing with a reading of the scale and nothing else, by the coach's own buttons: {id, at}. */
async function swing(student, where = page) {
  await where.goto(`${house.origin}/bay.html#students`);
  await where.locator(".names a", { hasText: student.name }).last().click();
  await where.locator("button", { hasText: en["bay.newSwing"] }).click();
  await where.waitForFunction(() => location.hash.startsWith("#swing/"));
  const id = (await here(where)).split("/").at(-1);
  await where.locator(".settings > summary").click();
  await where.locator("summary", { hasText: en["bay.more"] }).click();
  const scale = where.locator("label", { hasText: "Weight on the lead foot" }).first().locator("xpath=../input");
  await scale.fill(String(20 + Math.floor(Math.random() * 60)));
  await scale.dispatchEvent("change");
  await where.waitForFunction(() => !document.querySelector("[data-key=send]").disabled);
  const { text } = (await onDevice(where)).drafts.find((draft) => draft.id === id);
  await where.locator(".settings > summary").click();
  await where.locator("button", { hasText: en["bay.send"] }).click();
  await where.waitForFunction(() => !location.hash.startsWith("#swing/"));
  return { id, at: JSON.parse(text).recorded_at };
}
const nudge = () => page.evaluate(() => window.dispatchEvent(new Event("online"))).catch(() => {}); // the page may begin anew over it
const settled = () => page.waitForFunction(() => document.querySelector("#waiting").hidden, null, { timeout: 30000 });

// ---- two coaches, one tablet ----

const made = []; // {coach, student, at}: what was taken over, to be held against what the server has in the end
async function takeSwing(coach, student) {
  const { id, at } = await swing(student);
  made.push({ coach, student: student.id, at });
  return id;
}

await enter("coach1");
await page.evaluate(() => navigator.serviceWorker.ready);
await page.reload();
await page.waitForSelector(".names a");
await context.setOffline(true);
const [first, second] = only("coach1", "coach2");
for (const student of [first, first, second]) await takeSwing("coach1", student);
check((await page.textContent("#waiting")) === "3 waiting", "three swings of the first coach wait without a network");
await page.goto(`${house.origin}/bay.html#students`);
await page.waitForSelector(".names a");
await page.locator(".names a", { hasText: second.name }).last().click();
await page.waitForFunction(() => location.hash.startsWith("#student/"));
const empty = await page.locator("button", { hasText: en["bay.newSwing"] }).click().then(() => page.waitForSelector(".view")).then(() => here());
check(empty.startsWith("/bay.html#swing/"), "and one was begun and left empty");

// ---- signing out without a network ----

const cookie = async () => (await context.request.get(`${house.origin}/v1/me`)).status();
check((await cookie()) === 200, "the session lives");
await page.click("#out");
await page.waitForSelector("#left:not([hidden])");
check((await here()) === "/" && (await page.textContent("#left")) === en["front.left"], "signed out without a network: a page of ours says so");
check((await page.textContent("#wrong")) === en["front.offline"], "and that signing in needs a network");
await accessible(page, "signed out without a network");
await targets(page, "signed out without a network");
await keep(page, "front-left");
let device = await onDevice(page);
check(device.lists.length === 0, "no list of students stays on the tablet");
check(device.drafts.every(({ id }) => device.outbox.some((entry) => entry.id === id)), "nor what was begun and held nothing");
check(device.outbox.length === 3 && device.outbox.every(({ owner }) => owner === ids.coach1), "the unsent swings stay, under their coach");
const names = everybody.map(({ name }) => name);
for (const address of ["/bay.html", "/bay.html#students", `/bay.html#student/${first.id}`, `/bay.html#swing/${device.outbox[0].id}`, "/bay.html#outbox", "/"]) {
  await page.goto(house.origin + address).catch(() => {});
  await page.waitForSelector("#left:not([hidden])");
  const text = await page.evaluate(() => document.body.innerText);
  check(!names.some((name) => text.includes(name)), `${address} shows nobody, and the front door`);
}
await page.goBack().catch(() => {});
await page.waitForTimeout(300);
const shown = await page.evaluate(() => document.body.innerText);
check(!names.some((name) => shown.includes(name)), "the way back shows nobody");
check((await cookie()) === 200, "the server has not heard of it yet");
await page.goto(house.origin);
await page.waitForSelector("#left:not([hidden])"); // the page has said what it can without a network
const asked = [];
page.on("request", (request) => { if (new URL(request.url()).pathname.startsWith("/v1/")) asked.push(`${request.method()} ${new URL(request.url()).pathname}`); });
await context.setOffline(false);
await page.waitForSelector("#left", { state: "hidden", timeout: 30000 });
check(asked[0] === "POST /v1/sign-out" && (await cookie()) === 401, `with the network back that is the first thing said (${asked.join(", ")})`);

// ---- the second coach on the same tablet ----

await enter("coach2");
check(await page.locator("#waiting").isHidden(), "the second coach sees nothing waiting");
await page.goto(`${house.origin}/bay.html#outbox`);
await page.waitForSelector("#room h2");
check((await page.textContent("#room")).includes(en["bay.outbox.empty"]), "nor in the outbox");
await page.goto(`${house.origin}/bay.html#swing/${device.outbox[0].id}`);
await page.waitForFunction(() => location.hash !== "" && !location.hash.startsWith("#swing/"));
check(true, "nor opens one by its address");
await nudge();
const third = only("coach2", "coach1")[0];
for (const student of [third, third]) {
  await context.setOffline(true);
  await takeSwing("coach2", student);
  await context.setOffline(false);
  await nudge();
  await settled();
}
device = await onDevice(page);
check(device.outbox.length === 3 && device.outbox.every(({ owner, text }) => owner === ids.coach1 && JSON.parse(text).state === "waiting"), "the first coach's three still wait, untouched");
check((await stored()).filter(({ id }) => !before.has(id)).length === 2, "two swings have arrived");
await leave();
device = await onDevice(page);
check(device.lists.length === 0 && [...device.drafts, ...device.outbox].every(({ owner }) => owner === ids.coach1), "signed out, nothing of the second coach is on the tablet");

await enter("coach1");
await settled();
check((await stored()).filter(({ id }) => !before.has(id)).length === 5, "the first coach is back, and the three go out");

// ---- a tab that was left open as somebody else ----

await context.setOffline(true);
const late = await takeSwing("coach1", first);
await context.request.post(`${house.origin}/v1/sign-out`, { headers: { Origin: house.origin, "Sec-Fetch-Site": "same-origin" }, data: {} });
const other = await context.request.post(`${house.origin}/v1/sign-in`, { headers: { Origin: house.origin, "Sec-Fetch-Site": "same-origin" }, data: { sign_in: "coach2", password: house.password, cookie: true } });
check(other.status() === 200, "somebody else signs in in another window, and this page is not told");
const reloaded = page.waitForEvent("load");
await context.setOffline(false);
await nudge();
await reloaded;
await page.waitForSelector("#room h2");
check((await stored()).filter(({ id }) => !before.has(id)).length === 5, "the swing is not sent in the other one's name");
check((await onDevice(page)).outbox.some(({ id, owner }) => id === late && owner === ids.coach1) && (await page.locator("#waiting").isHidden()), "it waits for its coach; the page begins anew as the other one's");
await leave();

// ---- back and forth, with the network coming and going ----

let seed = 7;
const dice = (n) => { seed = (seed * 1103515245 + 12345) % 2147483648; return Math.floor((seed / 2147483648) * n); };
for (let turn = 0; turn < 8; turn++) {
  const name = dice(2) ? "coach1" : "coach2";
  await enter(name);
  const offline = dice(3) > 0;
  if (offline) await context.setOffline(true);
  const mine = shared.length && dice(2) ? shared : only(name, name === "coach1" ? "coach2" : "coach1");
  for (let n = 1 + dice(2); n > 0; n--) {
    const student = mine[dice(Math.min(3, mine.length))];
    await takeSwing(name, student);
  }
  if (offline && dice(2)) {
    await page.click("#out");
    await page.waitForSelector("#left:not([hidden])");
    await context.setOffline(false);
    await page.waitForSelector("#left", { state: "hidden", timeout: 30000 });
  } else {
    await context.setOffline(false);
    if (dice(2)) await nudge();
    await leave();
  }
}
for (const name of ["coach1", "coach2"]) {
  await enter(name);
  await settled();
  await leave();
}
const came = (await stored()).filter(({ id }) => !before.has(id));
const matches = ({ student, at }) => came.filter((item) => item.student === student && Date.parse(item.recorded_at) === Date.parse(at));
const lost = made.filter((item) => matches(item).length === 0).length;
const doubled = came.length - new Set(came.map((item) => `${item.student} ${item.recorded_at}`)).size;
const wrong = made.filter((item) => matches(item).some((found) => found.uploaded_by !== ids[item.coach])).length;
check(lost === 0 && doubled === 0 && wrong === 0 && came.length === made.length, `${made.length} swings of two coaches: ${came.length} arrived, ${lost} lost, ${doubled} doubled, ${wrong} in another one's name`);
device = await onDevice(page);
check(Object.values(device).every((items) => items.length === 0), `and nothing is left on the tablet (${Object.entries(device).map(([store, items]) => `${store} ${items.length}`).join(", ")})`);

// ---- a session that was ended on the server ----

await enter("coach1");
const lists = (await onDevice(page)).lists;
check(lists.length > 0 && !lists.some(({ text }) => /birth_year|consent|wants/.test(text)), "while somebody is signed in the lists are there, and hold no more than the bay needs");
const sessions = (await house.call("GET", "/v1/me/sessions", tokens.coach1)).data.sessions;
const mineNow = await page.evaluate(async () => (await (await fetch("/v1/me")).json()).session_id);
check(sessions.some(({ id }) => id === mineNow), "the session is listed elsewhere");
await house.call("DELETE", `/v1/me/sessions/${mineNow}`, tokens.coach1);
await page.evaluate((id) => { location.hash = `#student/${id}`; }, first.id);
await page.waitForSelector("#enter:not([hidden])");
check((await onDevice(page)).lists.length === 0, "ended there, its lists are gone from the tablet");
page.complaints = page.complaints.filter((text) => !text.includes("ERR_INTERNET_DISCONNECTED")); // it was cut off
quiet(page, "shared tablet");
await context.close();

// ---- a tablet that was ended ----

const desk = await open(chromium, house.origin);
await signIn(desk, house.origin, "head", house.password);
await desk.waitForURL("**/desk.html");
const enrol = async (name) => {
  await desk.goto(`${house.origin}/desk.html#devices`);
  await desk.waitForSelector("#room form input");
  await desk.fill("#room form input", name);
  await desk.click("#room form button");
  await desk.locator("tr", { hasText: name }).waitFor();
};
const token = () => desk.evaluate(() => localStorage.getItem("leadside.device"));
await enrol("Bay 7");
check(Boolean(await token()), "a tablet is enrolled");
const tablets = (await house.call("GET", "/v1/devices", tokens.head)).data.devices;
const seven = tablets.find((item) => item.name === "Bay 7");
await house.call("PATCH", `/v1/devices/${seven.id}`, tokens.head, { revoked: true }, { "If-Match": `"${seven.version}"` });
await desk.click("#out");
await desk.waitForSelector("#enter:not([hidden])");
await signIn(desk, house.origin, "head", house.password);
await desk.waitForURL("**/desk.html");
check((await token()) === null, "ended elsewhere, its browser forgets that it was one and lets its people in");
await enrol("Bay 8");
await desk.locator("tr", { hasText: "Bay 8" }).locator("button").click();
await desk.locator("tr", { hasText: "Bay 8" }).locator("text=removed").waitFor();
check((await token()) === null, "ended at this very desk, too");
await enrol("Bay 9");
await enrol("Bay 10");
await desk.locator("tr", { hasText: "Bay 9" }).locator("button").click();
await desk.locator("tr", { hasText: "Bay 9" }).locator("text=removed").waitFor();
check(Boolean(await token()), "another one's end leaves this one enrolled");
quiet(desk, "tablets");
await desk.context().close();

// ---- work from before entries had an owner ----

const old = await open(chromium, house.origin);
await old.goto(`${house.origin}/icon.svg`);
const strange = everybody.find((item) => !own.coach1.some(({ id }) => id === item.id));
const PNG = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg==";
const entry = (student) => ({ id: randomUUID(), picture: PNG, student: { id: student.id, name: student.name, hand: student.hand }, state: "waiting", swing: null, problem: null, added: new Date().toISOString(),
  document: JSON.stringify({ schema: "leadside.swing/1", recorded_at: new Date().toISOString(), shot: "full", hand: "right", club: { kind: "driver" }, weight: [{ checkpoint: "top", lead_share: 0.4, source: "scale" }] }) });
const entries = [entry(first), entry(strange)];
const draft = { id: randomUUID(), student: { id: second.id, name: second.name, hand: second.hand }, recorded_at: new Date().toISOString(), club: { kind: "driver", length_m: 1.14 }, weight: { top: 44 },
  views: { down_the_line: { rate: 30, fps: 30, width: 320, height: 180, hfov: null, distance: null, sticks: [], target: null, frames: { address: { picture: 3, points: { grip: { u: 100, v: 90 } }, sure: true } } } } };
await old.evaluate(([entries, draft]) => new Promise((resolve) => {
  const picture = new Blob([Uint8Array.from(atob(entries[0].picture), (letter) => letter.charCodeAt(0))], { type: "image/png" });
  const asked = indexedDB.open("leadside", 2);
  asked.onupgradeneeded = () => ["drafts", "stills", "films", "outbox", "lists"].forEach((store) => asked.result.createObjectStore(store, { keyPath: "id" }));
  asked.onsuccess = () => {
    const transaction = asked.result.transaction(["drafts", "stills", "films", "outbox", "lists"], "readwrite");
    entries.forEach(({ picture: text, ...item }) => transaction.objectStore("outbox").put({ ...item, stills: [{ view: "down_the_line", checkpoint: "top", blob: picture }] }));
    transaction.objectStore("stills").put({ id: `${draft.id}-down_the_line-address`, blob: picture });
    transaction.objectStore("films").put({ id: `${draft.id}-down_the_line`, blob: picture, taken: 30 });
    transaction.objectStore("drafts").put(draft);
    transaction.objectStore("lists").put({ id: "students", students: [{ name: "Somebody Else" }] });
    transaction.oncomplete = () => { asked.result.close(); resolve(); };
  };
}), [entries, draft]);
const had = (await stored()).length;
await signIn(old, house.origin, "coach1", house.password);
await old.waitForSelector(".unclaimed");
const card = await old.textContent(".unclaimed");
check(card.includes(first.name) && card.includes(second.name) && !card.includes(strange.name), "work of nobody known is shown, its student named to who has that student");
await accessible(old, "work without a name");
await targets(old, "work without a name");
await old.evaluate(() => window.dispatchEvent(new Event("online")));
await old.waitForTimeout(1000);
check((await stored()).length === had && (await old.locator("#waiting").isHidden()), "nothing of it is sent unasked");
check((await onDevice(old)).lists.every(({ text }) => !text.includes("Somebody Else")), "the old list is gone");
await old.locator(`[data-unclaimed="${entries[0].id}"] button`).click();
await old.waitForSelector(`[data-unclaimed="${entries[0].id}"]`, { state: "detached" });
await old.evaluate(() => window.dispatchEvent(new Event("online")));
for (let i = 0; i < 50 && (await stored()).length === had; i++) await old.waitForTimeout(100);
check((await stored()).length === had + 1, "what a coach takes as theirs is sent");
const after = (await stored()).find((item) => Date.parse(item.recorded_at) === Date.parse(JSON.parse(entries[0].document).recorded_at));
for (let i = 0; i < 50 && (await onDevice(old)).outbox.some((item) => item.id === entries[0].id); i++) await old.waitForTimeout(100);
const stills = await house.call("GET", `/v1/swings/${after.id}/stills`, tokens.coach1);
check(after.uploaded_by === ids.coach1 && stills.data.stills.length === 1, `in that coach's name, with its picture (${JSON.stringify(stills.data)})`);
await old.locator(`[data-unclaimed="${draft.id}"] button`).click();
await old.waitForSelector(`a[href="#swing/${draft.id}"]`);
await old.evaluate((id) => { location.hash = `#swing/${id}`; }, draft.id);
await old.waitForSelector(".strip .taken");
const claimed = await onDevice(old);
check([...claimed.stills, ...claimed.films].every(({ owner }) => owner === ids.coach1) && claimed.films.length === 1, "its still and its film are there");
check((await onDevice(old)).outbox.some(({ id, owner }) => id === entries[1].id && owner === ""), "a draft too; what is another's waits on");
quiet(old, "work without a name");

await chromium.close();
await house.end();
finish("pages_shared");
