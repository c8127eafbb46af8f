// No work of a coach's is lost on the tablet: what can't be right is said before it is sent; what the server refuses comes back
// to be mended; one swing that can't be sent holds no other back; a full tablet says so and goes on; two tabs don't fight.
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, targets } from "./support.mjs";

const house = await club(["--no-throttle"]);
const chromium = await browser();
const page = await open(chromium, house.origin, { touch: true });
const context = page.context();
const token = await house.token("coach1");
const students = (await house.call("GET", "/v1/students?limit=200", token)).data.students.filter((item) => !item.junior);
const student = students[0];
const swings = async (of = student) => (await house.call("GET", `/v1/students/${of.id}/swings?limit=200`, token)).data.swings;
const said = (key, values = {}) => en[key].replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
const online = (where = page) => where.evaluate(() => window.dispatchEvent(new Event("online"))).catch(() => {});
const until = async (fits, what) => {
  for (let i = 0; i < 300; i++) {
    if (await fits()) return true;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  console.log(`waited in vain: ${what}`);
  return false;
};

/** How many entries of each store lie on the device. */
const kept = (where = page) => where.evaluate(async () => {
  const { list } = await import("/lib/storage.js");
  return Object.fromEntries(await Promise.all(["drafts", "stills", "films", "outbox"].map(async (store) => [store, (await list(store)).length])));
});
const same = (got, wanted) => Object.entries(wanted).every(([store, n]) => got[store] === n);
const told = (got) => Object.entries(got).map(([store, n]) => `${store} ${n}`).join(", ");

/** A draft with a still for each [checkpoint, picture] and a film, as the sheet keeps it. Returns its id. */
const draftOf = (frames, more = {}, of = student, where = page) => where.evaluate(async ([frames, more, of]) => {
  const { keepDraft, keepFilm, keepStill, newDraft, viewOf } = await import("/bay/draft.js");
  const draft = newDraft(of);
  const view = viewOf(draft, "down_the_line");
  Object.assign(view, { rate: 30, fps: 30, width: 640, height: 360 });
  const canvas = Object.assign(document.createElement("canvas"), { width: 640, height: 360 });
  const pen = canvas.getContext("2d");
  for (const [checkpoint, picture] of frames) {
    pen.fillStyle = `hsl(${picture % 360} 60% 60%)`;
    pen.fillRect(0, 0, 640, 360);
    const still = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
    view.frames[checkpoint] = { picture, still, points: { grip: { u: 320, v: 200 }, clubhead: { u: 400, v: 320 } }, sure: true };
    await keepStill(draft, "down_the_line", checkpoint);
  }
  Object.assign(draft, more);
  await keepDraft(draft);
  if (frames.length) await keepFilm(draft, "down_the_line", new Blob([new Uint8Array(200000)], { type: "video/webm" }), 30);
  return draft.id;
}, [frames, more, of]);

/** Puts a draft into the outbox as it is, past what the sheet would say of it. */
const push = (id, where = page) => where.evaluate(async (id) => {
  const { findDraft } = await import("/bay/draft.js");
  const { enqueue } = await import("/bay/outbox.js");
  await enqueue(await findDraft(id));
}, id);
const room = async (hash, where = page) => {
  await where.evaluate((hash) => { location.hash = hash; }, hash);
  await where.waitForSelector("#room h2");
};
const send = (where = page) => where.locator("button", { hasText: en["bay.send"] }).click();
const arrived = (n) => until(async () => (await swings()).length === n, `${n} swings`);

await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
await page.evaluate(() => navigator.serviceWorker.ready);
await page.reload();
await page.waitForSelector(".names a");
let had = (await swings()).length;

// ---- said before it is sent ----

const posts = [];
page.on("request", (request) => { if (request.method() === "POST" && request.url().endsWith("/swings")) posts.push(request.headers()["idempotency-key"]); });
let id = await draftOf([["address", 30], ["top", 60]]);
await room(`#swing/${id}`);
const length = page.locator('[data-field="length"]');
const settings = (where = page) => where.locator(".settings > summary").click();
await settings();
await length.fill("37");
await length.dispatchEvent("change");
await send();
await page.waitForSelector("[role=alert] .wrong");
check((await page.textContent("[role=alert] .wrong")) === said("bay.mend.length", { low: 0.3, high: 1.5 }), "a club 37 m long is said so before it is sent");
check((await page.evaluate(() => document.activeElement.dataset.field)) === "length" && (await length.getAttribute("aria-invalid")) === "true", "the field that is wrong has the focus");
check(posts.length === 0 && same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 0 }), `nothing was sent, everything is there (${told(await kept())})`);
await accessible(page, "a swing to be mended");
await targets(page, "a swing to be mended");
await keep(page, "bay-mend");
await length.fill("0.94");
await length.dispatchEvent("change");
await settings();
await send();
check(await arrived(++had), "put right, it goes");
await until(async () => same(await kept(), { drafts: 0, stills: 0, films: 0, outbox: 0 }), "an empty tablet");
check(same(await kept(), { drafts: 0, stills: 0, films: 0, outbox: 0 }), `and then the tablet holds nothing of it (${told(await kept())})`);

id = await draftOf([["address", 2250], ["top", 2300]]); // 75 s into the film
await room(`#swing/${id}`);
await send();
check(await arrived(++had), "a swing 75 s into its film goes");
const newest = async () => (await house.call("GET", `/v1/swings/${(await swings()).sort((a, b) => (a.recorded_at < b.recorded_at ? 1 : -1))[0].id}`, token)).data.document;
const times = (await newest()).views[0].frames.map(({ time_s }) => time_s);
check(times[0] === 0 && Math.abs(times[1] - 50 / 30) < 1e-3, `its times are counted from the first picture (${times.join(", ")})`);
await page.waitForFunction(() => location.hash.startsWith("#report/"));

id = await draftOf([["address", 0], ["top", 60], ["impact", 3000]]);
await room(`#swing/${id}`);
await send();
await page.waitForSelector("[role=alert] .wrong");
check((await page.textContent("[role=alert] .wrong")).includes("60 seconds") && (await page.locator('[data-key="impact"]').getAttribute("aria-pressed")) === "true", "pictures of more than one swing: said, and the late one is opened");
const sheet = page.locator('[data-key="address"]');
await sheet.click();
await page.waitForSelector(".stage img");
await page.locator('[data-point="neck"]').click();
const box = await page.locator(".stage img").boundingBox();
const [x, y] = [box.x + 0.99 * box.width, box.y + 0.5 * box.height];
await page.mouse.click(x, y);
await page.locator('[data-point="butt"]').click();
await page.mouse.move(x - 6, y);
await page.mouse.down();
await page.mouse.move(box.x + box.width + 60, y, { steps: 8 });
await page.mouse.up();
const ball = await page.evaluate(async () => {
  const { take } = await import("/lib/storage.js");
  await new Promise((resolve) => setTimeout(resolve, 200));
  return (await take("drafts", location.hash.split("/")[1])).views.down_the_line.frames.address.points;
});
check(Object.values(ball).every(({ u, v }) => u >= 0 && u <= 640 && v >= 0 && v <= 360) && Object.values(ball).some(({ u }) => u === 640), `a mark pulled over the edge stays at it (${JSON.stringify(ball)})`);
await settings();
await page.locator('[data-key="discard"]').click();
await page.locator('[data-key="sure"]').click();
await page.waitForFunction(() => location.hash.startsWith("#student/"));

// ---- refused: back to its place, nothing lost ----

id = await draftOf([["address", 0], ["top", 60]], { club: { kind: "iron", number: 7, length_m: 37 } });
await room(`#student/${student.id}`);
await push(id);
await page.waitForFunction((id) => location.hash === `#swing/${id}`, id);
await page.waitForSelector("[role=alert] .wrong");
const why = await page.textContent("[role=alert] .wrong");
check(why.includes(`${en["bay.club.length"]}: must be from 0.3 to 1.5, not 37.`) && why.includes("nothing of it is lost"), `what the server refuses is open again, with its reason: ${why}`);
check((await page.evaluate(() => document.activeElement.dataset.field)) === "length", "at the place that is to be mended");
check(same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 0 }), `draft, stills and film are there (${told(await kept())})`);
await length.fill("0.9");
await length.dispatchEvent("change");
await settings();
await send();
check(await arrived(++had), "mended, it goes");
await page.waitForFunction(() => location.hash.startsWith("#report/"));
id = await draftOf([["address", 0], ["top", 3000]]);
await room(`#student/${student.id}`);
await push(id);
await page.waitForFunction((id) => location.hash === `#swing/${id}`, id);
await page.waitForSelector("[role=alert] .wrong");
check((await page.textContent("[role=alert] .wrong")).includes(`${en["view.down_the_line"]}, ${en["checkpoint.top"]}`) && (await page.locator('.strip [data-key="top"]').getAttribute("aria-pressed")) === "true", "a picture's refusal opens that picture");
await settings();
await page.locator('[data-key="discard"]').click();
await page.locator('[data-key="sure"]').click();
await page.waitForFunction(() => location.hash.startsWith("#student/"));

let survived = 0;
const REFUSALS = [403, 404, 409, 413, 422];
for (const status of REFUSALS) {
  id = await draftOf([["address", 0], ["top", 60]]);
  await room("#outbox");
  await page.route("**/v1/students/*/swings", (route) => route.fulfill({ status, contentType: "application/problem+json", body: JSON.stringify({ type: `urn:leadside:problem:made-up-${status}`, detail: `reason ${status}` }) }));
  await push(id);
  await page.waitForSelector(`[data-entry="${id}"] .wrong`);
  const card = await page.textContent(`[data-entry="${id}"]`);
  const there = same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 1 }) && card.includes(`reason ${status}`) && card.includes(en["bay.again.send"]);
  if (status === 422) {
    check((await page.textContent("#waiting")) === "1 not taken", "a refused swing isn't said to wait");
    await accessible(page, "the outbox with a refused swing");
    await targets(page, "the outbox with a refused swing");
    await keep(page, "bay-outbox-refused");
  }
  await page.unroute("**/v1/students/*/swings");
  await page.locator(`[data-entry="${id}"] [data-key="again"]`).click();
  if (there && (await arrived(had + 1))) survived++;
  had = (await swings()).length;
  await until(async () => same(await kept(), { drafts: 0, stills: 0, films: 0, outbox: 0 }), "an empty tablet");
}
check(survived === REFUSALS.length, `refused with ${REFUSALS.join(", ")}: ${survived} of ${REFUSALS.length} kept with their reason and sent again`);

// ---- one that always fails holds no other back ----

await context.setOffline(true);
const three = [];
for (let n = 0; n < 3; n++) {
  three.push(await draftOf([["address", n], ["top", 60 + n]]));
  await push(three[n]);
}
const bad = three[0]; // the oldest
await page.route("**/v1/students/*/swings", (route) => (route.request().headers()["idempotency-key"] === bad ? route.fulfill({ status: 500, contentType: "application/problem+json", body: JSON.stringify({ type: "urn:leadside:problem:internal", detail: "A fault of the server." }) }) : route.continue()));
const tried = () => posts.filter((key) => key === bad).length;
posts.length = 0;
await room("#outbox");
await context.setOffline(false);
await online();
check(await arrived(had + 2), "of three, the two that can be sent arrive though the oldest always gives 500");
had += 2;
await until(async () => same(await kept(), { drafts: 1, outbox: 1 }), "one is left");
check(same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 1 }), `the third waits whole (${told(await kept())})`);
const once = tried();
await online();
await page.waitForTimeout(800);
check(once === 1 && tried() === 1, `and is not tried again at once (${tried()} tries)`);
check((await page.textContent(`[data-entry="${bad}"]`)).includes("It is tried again at"), `it says when: ${(await page.textContent(`[data-entry="${bad}"] p:nth-child(2)`)).trim()}`);
await page.unroute("**/v1/students/*/swings");
await page.locator(`[data-entry="${bad}"] [data-key="again"]`).click();
check(await arrived(++had), "tried by hand once the server is well, it goes");
check(await until(async () => (await page.textContent("#room")).includes(en["bay.outbox.empty"]), "an empty outbox"), "the open outbox is drawn anew");

// ---- an answer that gets lost; pictures that don't arrive ----

await page.route("**/v1/students/*/swings", async (route) => { await route.fetch(); await route.abort(); });
id = await draftOf([["address", 0], ["top", 60]]);
await push(id);
check(await arrived(++had), "the swing arrives and its answer does not");
check(same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 1 }), "the tablet keeps it all");
await page.unroute("**/v1/students/*/swings");
await online();
await until(async () => same(await kept(), { drafts: 0, outbox: 0 }), "an empty tablet");
check((await swings()).length === had, "sent again it is one swing");

let failing = true;
await page.route("**/stills/down_the_line-top", (route) => (failing ? route.fulfill({ status: 503, body: "" }) : route.continue()));
id = await draftOf([["address", 0], ["top", 60]]);
await push(id);
check(await arrived(++had), "a swing arrives, one of its stills does not");
await until(async () => (await page.textContent("#room")).includes("tried again"), "its card");
check(same(await kept(), { drafts: 1, stills: 2, films: 1, outbox: 1 }), `draft, stills and film stay until the stills are up (${told(await kept())})`);
failing = false;
await page.locator(`[data-entry="${id}"] [data-key="again"]`).click();
await until(async () => same(await kept(), { drafts: 0, outbox: 0 }), "an empty tablet");
const stills = async () => (await house.call("GET", `/v1/swings/${(await swings()).sort((a, b) => (a.recorded_at < b.recorded_at ? 1 : -1))[0].id}/stills`, token)).data.stills.length;
check((await stills()) === 2 && (await swings()).length === had, `then they go, and the swing is there once (${await stills()} stills)`);
await page.unroute("**/stills/down_the_line-top");
await page.route("**/stills/*", (route) => route.fulfill({ status: 409, contentType: "application/problem+json", body: JSON.stringify({ type: "urn:leadside:problem:consent-missing", detail: "No consent." }) }));
id = await draftOf([["address", 0], ["top", 60]]);
await push(id);
await page.waitForSelector(`[data-entry="${id}"] [data-key="leave-stills"]`);
check((await page.textContent(`[data-entry="${id}"]`)).includes(en["problem.consent-missing"]) && same(await kept(), { stills: 2, outbox: 1 }), "refused pictures stay with the reason, the swing has arrived");
await page.unroute("**/stills/*");
await page.locator(`[data-entry="${id}"] [data-key="again"]`).click();
await until(async () => same(await kept(), { drafts: 0, outbox: 0 }), "an empty tablet");
had++;
check((await stills()) === 2 && (await swings()).length === had, "and can be sent again");

// ---- two tabs ----

const tab = await context.newPage();
tab.complaints = [];
tab.on("pageerror", (error) => tab.complaints.push(`script: ${error.message}`));
id = await draftOf([["address", 0], ["top", 60]]);
await room(`#swing/${id}`);
await page.waitForSelector(".strip");
await tab.goto(`${house.origin}/bay.html#swing/${id}`);
await tab.waitForSelector('[data-key="here"]');
check((await tab.textContent("[role=alert] .card, .card[role=alert]")).includes(await page.title()), `a second tab (beside "${await page.title()}") says where the swing is open: ${(await tab.textContent("[role=alert] p")).trim()}`);
check(same({ n: await tab.locator(".strip").count() }, { n: 0 }), "and shows no second sheet of it");
await accessible(tab, "open elsewhere");
await targets(tab, "open elsewhere");
await keep(tab, "bay-elsewhere");
await tab.click('[data-key="here"]');
await tab.waitForSelector(".strip");
await page.waitForSelector('[data-key="here"]');
check(true, "it can be taken over, and the first tab says so");
await settings(tab);
const club7 = tab.locator(".settings select").first();
await club7.selectOption({ label: en["club.driver"] });
const storedClub = () => tab.evaluate(async (id) => (await (await import("/lib/storage.js")).take("drafts", id)).club.kind, id);
await until(async () => (await storedClub()) === "driver", "the driver");
await page.evaluate(async (id) => { // what the first tab still has in hand writes nothing
  location.hash = "#students";
  await new Promise((resolve) => setTimeout(resolve, 500));
}, id);
check((await storedClub()) === "driver", "what the second tab changed stays");
await page.evaluate((id) => { location.hash = `#swing/${id}`; }, id);
await page.waitForSelector('[data-key="here"]');
await page.click('[data-key="here"]');
await page.waitForSelector(".strip");
await tab.waitForSelector('[data-key="here"]');
check((await page.locator(".settings select").first().inputValue()) === "driver", "taken back, it is as the other left it");
await send();
check(await arrived(++had), "and goes once");
await tab.reload();
await tab.waitForSelector("#room h2");

await context.setOffline(true);
const many = [];
for (let n = 0; n < 6; n++) {
  many.push(await draftOf([["address", n]], { weight: { top: 40 + n } }));
  await push(many[n]);
}
const sent = [];
for (const where of [page, tab]) where.on("request", (request) => { if (request.method() === "POST" && request.url().endsWith("/swings")) sent.push(request.headers()["idempotency-key"]); });
await room("#outbox", page);
await context.setOffline(false);
await Promise.all([online(page), online(tab), online(page), online(tab)]);
check(await arrived(had + 6), "six swings, two tabs that both want to send");
had += 6;
await page.waitForTimeout(500);
check(sent.length === 6 && new Set(sent).size === 6, `each is sent once (${sent.length} requests)`);
check((await swings()).length === had, "and none doubled");
check(tab.complaints.length === 0, `no complaint of the second tab ${tab.complaints.join()}`);
await tab.close();

// ---- a full tablet ----

const cut = (text) => !/ERR_INTERNET_DISCONNECTED|ERR_FAILED/.test(text);
page.complaints = page.complaints.filter(cut);
quiet(page, "kept work");
const tight = await open(chromium, house.origin, { touch: true });
await tight.goto(`${house.origin}/icon.svg`);
const wire = await tight.context().newCDPSession(tight);
const ROOM = 20e6; // the browser asks how much is left when it believes that it is used up, so it is set before anything is kept
const quota = (quotaSize) => wire.send("Storage.overrideQuotaForOrigin", { origin: house.origin, quotaSize });
const fillUp = async () => {
  await quota(1);
  return tight.evaluate(async (size) => {
    const { isFull, put } = await import("/lib/storage.js");
    return put("films", { id: "filler", blob: new Blob([new Uint8Array(size)]) }).then(() => false, isFull);
  }, ROOM + 5e6);
};
await quota(ROOM);
await signIn(tight, house.origin, "coach1", house.password);
await tight.waitForSelector(".names a");
await tight.evaluate(() => navigator.serviceWorker.ready);
await tight.reload();
await tight.waitForSelector(".names a");
const film = await tight.evaluate(async () => {
  const canvas = Object.assign(document.createElement("canvas"), { width: 640, height: 360 });
  const pen = canvas.getContext("2d");
  const recorder = new MediaRecorder(canvas.captureStream(30), { mimeType: "video/webm" });
  const parts = [];
  recorder.ondataavailable = (event) => parts.push(event.data);
  const stopped = new Promise((resolve) => recorder.addEventListener("stop", resolve));
  recorder.start();
  for (let i = 0; i < 45; i++) {
    pen.fillStyle = `hsl(${i * 8} 50% 50%)`;
    pen.fillRect(0, 0, 640, 360);
    await new Promise((resolve) => setTimeout(resolve, 33));
  }
  recorder.stop();
  await stopped;
  const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
});
const file = { name: "swing.webm", mimeType: "video/webm", buffer: Buffer.from(film, "base64") };
const older = await draftOf([["address", 0]], {}, student, tight); // with a film of its own
await tight.goto(`${house.origin}/bay.html#student/${student.id}`);
await tight.locator("button", { hasText: en["bay.newSwing"] }).click();
await tight.waitForSelector("input[type=file]", { state: "attached" });
id = (await tight.evaluate(() => location.hash)).split("/")[1];
check(await fillUp(), "the tablet is full");
await tight.setInputFiles("input[type=file]", file);
await tight.waitForSelector(".card.full");
await tight.waitForSelector("input[type=range]");
check(true, "a film that the tablet has no room for is shown all the same, and the page says that it isn't kept");
await tight.locator("button", { hasText: "+10" }).click();
await tight.locator('[data-key="take"]').click();
await tight.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
check((await tight.textContent(".card.full .wrong")) === en["bay.full"], `taking a picture works, and says: ${await tight.textContent(".card.full .wrong")}`);
await accessible(tight, "a full tablet");
await targets(tight, "a full tablet");
await keep(tight, "bay-full");
await tight.locator('.strip [data-key="address"]').click();
await tight.waitForSelector(".stage img");
await tight.waitForFunction(() => document.querySelector(".inner").style.width);
const stage = await tight.locator(".stage img").boundingBox();
await tight.mouse.click(stage.x + 0.5 * stage.width, stage.y + 0.5 * stage.height);
await tight.mouse.click(stage.x + 0.6 * stage.width, stage.y + 0.8 * stage.height);
check((await tight.textContent('.strip [data-key="address"]')).includes("2 marks"), "so does marking");
await tight.context().setOffline(true);
await send(tight);
await tight.waitForFunction((text) => document.querySelector("[role=alert] > .wrong, [role=alert] p.card")?.textContent === text, en["bay.full.stay"]);
check(true, "without a network and without room, sending says what to do");
await tight.locator("a.button", { hasText: en["common.back"] }).first().click();
await tight.waitForFunction(() => location.hash.startsWith("#student/"));
await tight.evaluate((id) => { location.hash = `#swing/${id}`; }, id);
await tight.waitForSelector(".card.full");
check((await tight.textContent('.strip [data-key="address"]')).includes("2 marks"), "left and opened again in the same page, it is all there");
await tight.locator('[data-key="again"]').click();
await tight.waitForSelector("input[type=range]");
check(true, "the film too");
await quota(ROOM);
await tight.locator('[data-key="again-room"]').click();
await tight.waitForFunction((text) => document.querySelector("#said")?.textContent === text, en["bay.full.over"]);
check((await tight.locator(".card.full").count()) === 0, "with room again everything is kept, and the page says so");
await tight.reload();
await tight.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
check((await tight.textContent('.strip [data-key="address"]')).includes("2 marks") && (await kept(tight)).films === 2, "after a reload too, the film as well");
await send(tight);
await tight.waitForSelector("#waiting:not([hidden])");
await tight.context().setOffline(false);
await online(tight);
check(await arrived(++had), "and it goes");
await until(async () => (await kept(tight)).outbox === 0, "an empty outbox");
check((await stills()) === 1, "with its still");

await tight.goto(`${house.origin}/bay.html#student/${student.id}`);
await tight.locator("button", { hasText: en["bay.newSwing"] }).click();
await tight.waitForSelector("input[type=file]", { state: "attached" });
check(await fillUp(), "the tablet is full");
await tight.setInputFiles("input[type=file]", file);
await tight.waitForSelector("input[type=range]");
await tight.locator('[data-key="take"]').click();
await tight.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
await tight.locator('.strip [data-key="address"]').click();
await tight.waitForSelector(".stage img");
await tight.locator(".stage").press("Enter");
await send(tight);
await tight.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 20000 });
check(await arrived(++had) && (await stills()) === 1, "with a network a full tablet sends straight from the page, its still too");
await tight.goto(`${house.origin}/bay.html#students`);
await tight.waitForSelector(".names a");
check((await tight.textContent("#said")) === en["bay.full.list"], "a list that can't be kept is said so");
await room(`#student/${student.id}`, tight);
await tight.locator("button", { hasText: en["bay.newSwing"] }).click();
await tight.setInputFiles("input[type=file]", file);
await tight.waitForSelector(".card.full");
check((await tight.locator("input[type=file]").count()) === 1, "a new swing begins on a full tablet");
await tight.locator('[data-key="films"]').click();
await until(async () => (await kept(tight)).films === 0, "no films");
check(same(await kept(tight), { films: 0, stills: 1, drafts: 1 }), `old films can be thrown away from there, their pictures stay (${told(await kept(tight))})`);
await quota(ROOM);
await tight.evaluate((older) => { location.hash = `#swing/${older}`; }, older);
await tight.waitForSelector(".strip");
tight.complaints = tight.complaints.filter(cut);
quiet(tight, "a full tablet");

await chromium.close();
await house.end();
finish("pages_kept");
