// After a swing was sent, from its report: the marks come back and go out again as a correction, the swing is set aside and
// counted again, and given to another student.
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, tablet, targets } from "./support.mjs";

const house = await club(["--no-throttle"]);
const chromium = await browser();
const page = await open(chromium, house.origin, { size: tablet, touch: true });
const token = await house.token("coach1");
const students = (await house.call("GET", "/v1/students?limit=200", token)).data.students.filter((item) => !item.junior);
const [student, other] = students;
const swingsOf = async (who) => (await house.call("GET", `/v1/students/${who.id}/swings?limit=200`, token)).data.swings;
const swing = async (id) => (await house.call("GET", `/v1/swings/${id}`, token)).data;
const said = (key, values = {}) => en[key].replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
const until = async (fits, what) => {
  for (let i = 0; i < 200; i++) {
    if (await fits()) return true;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  console.log(`waited in vain: ${what}`);
  return false;
};

await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");

// ---- a swing with everything that the marking makes ----

const points = { grip: [320.4, 200.1], clubhead: [350, 320, 4.5], butt: [315, 180], lead_hip: [300, 190] };
const document = {
  schema: "leadside.swing/1", recorded_at: new Date(Date.now() - 3600000).toISOString(), shot: "full", hand: "left", club: { kind: "iron", number: 7, length_m: 0.94 },
  views: [{
    view: "down_the_line", fps: 60, image: { width: 360, height: 640 }, camera: { hfov_deg: 36.2, distance_m: 4 },
    frames: [{ checkpoint: "address", time_s: 0, points, film: { grip: [322.5, 204, 21.4] } }, { checkpoint: "top", time_s: 0.9167, points: { grip: [250, 120], clubhead: [280, 110, 6], lead_hip: [301, 191, 9] }, found: ["lead_hip"], confirmed: ["clubhead"] }],
    sticks: [[[250, 600], [270, 400]], [[150, 610], [240, 400]]], target: [262, 250],
  }],
  flight: { start: "left", strike: "thin" }, weight: [{ checkpoint: "top", lead_share: 0.34, source: "scale" }], seen: [{ fault: "chicken_wing", severity: "clear" }],
};
const made = await house.call("POST", `/v1/students/${student.id}/swings`, token, document);
check(made.status === 201, `a swing is sent (${JSON.stringify(made.data).slice(0, 200)})`);
const { id } = made.data;
const jpeg = Buffer.from(await page.evaluate(() => {
  const canvas = Object.assign(window.document.createElement("canvas"), { width: 360, height: 640 });
  canvas.getContext("2d").fillRect(0, 0, 360, 640);
  return canvas.toDataURL("image/jpeg", 0.5).split(",")[1];
}), "base64");
const still = (checkpoint) => fetch(`${house.origin}/v1/swings/${id}/stills/down_the_line-${checkpoint}`,
  { method: "PUT", body: jpeg, headers: { Authorization: `Bearer ${token}`, "Content-Type": "image/jpeg" } });
await still("address");
const room = async (hash) => {
  await page.evaluate((to) => { location.hash = "#students"; location.hash = to; }, hash);
  await page.waitForSelector(".sent h3");
};
await room(`#report/${id}`);
check((await page.locator('.sent [data-key="correct"]').count()) === 0, "while a picture is missing its marks can't be corrected here: something would be lost");
check((await still("top")).ok, "(now both pictures are there)");
await room(`#report/${id}`);
await accessible(page, "a report's last section");
await targets(page, "a report's last section");
await keep(page, "sent_actions");

// ---- the marks again ----

const act = async (key, why, fill = async () => {}) => {
  const node = page.locator(`.sent [data-key="${key}"]`);
  await node.locator("summary").click();
  await fill(node);
  await node.locator("input").fill(why);
  await node.locator("button").click();
};
await act("correct", "The top was one frame late");
await page.waitForSelector(".bench .stage, .bench");
const draft = (await page.evaluate(() => location.hash)).split("/")[1];
const back = await page.evaluate(async (of) => {
  const { documentOf, findDraft } = await import("/bay/draft.js");
  return documentOf(await findDraft(of));
}, draft);
check(JSON.stringify(back) === JSON.stringify(document), `the draft says what was sent, to the last digit: ${JSON.stringify(back)}`);
await keep(page, "sent_marks");
const sentStills = [];
page.on("request", (request) => { if (request.method() === "PUT" && request.url().includes("/stills/")) sentStills.push(request.url()); });
await page.evaluate(async (of) => {
  const { findDraft, keepDraft } = await import("/bay/draft.js");
  const held = await findDraft(of);
  held.views.down_the_line.frames.top.points.grip = { u: 255, v: 121 };
  await keepDraft(held);
}, draft);
await page.reload();
await page.waitForSelector('[data-key="send"]');
await page.locator('[data-key="send"]').click();
check(await until(async () => (await swing(id)).revision === 2, "the second revision"), "it goes out as a correction");
const now = await swing(id);
check(now.revised.reason === "The top was one frame late" && JSON.stringify(now.document.views[0].frames[1].points.grip) === "[255,121]", "with its reason, and the mark that was moved");
check((await swingsOf(student)).filter((item) => item.received_at >= now.received_at).length === 1, "there is no second swing");
check(await until(() => page.evaluate((to) => location.hash.startsWith(to), `#report/${id}`), "the report"), "the report follows");
check(sentStills.length === 0, "the pictures that the server has are not sent again");

// ---- an answer that was lost ----

await page.waitForSelector('.sent [data-key="correct"]');
await act("correct", "Once more");
await page.waitForSelector('[data-key="send"]');
await page.route(`**/v1/swings/${id}/marks`, async (route) => {
  await route.fetch();
  await route.abort();
}, { times: 1 });
await page.locator('[data-key="send"]').click();
check(await until(async () => (await swing(id)).revision === 3, "the third revision"), "a correction whose answer is lost on the way");
await page.evaluate(() => window.dispatchEvent(new Event("online")));
check(await until(() => page.evaluate(async () => (await (await import("/lib/storage.js")).list("outbox")).length === 0), "an empty outbox"), "is found to be there, and leaves the tablet");
check((await swing(id)).revision === 3, "once");
page.complaints = page.complaints.filter((text) => !text.includes("ERR_FAILED")); // the answer that was lost

// ---- set aside, and back ----

await room(`#report/${id}`);
await act("void", "Somebody else hit it");
await page.waitForSelector('.sent [data-key="count"]');
check((await page.locator('[role="status"].wrong').textContent()).includes("Somebody else hit it"), "the report says that it is not counted, and why");
check((await swing(id)).voided?.reason === "Somebody else hit it", "so does the server");
check((await page.locator(".other").count()) === 0 && (await page.locator(`[data-fault] button`).count()) === 0, "no fix is given from it");
await keep(page, "sent_void");
await page.evaluate((to) => { location.hash = to; }, `#student/${student.id}`);
await page.waitForSelector(`a[href="#report/${id}"]`);
check((await page.locator(`a[href="#report/${id}"]`).textContent()).endsWith("not counted"), "the student's page says it too");
check((await page.locator('[data-key="judge"]').count()) === 0, "and no lesson is held with it");
await room(`#report/${id}`);
await act("count", "She did");
await page.waitForSelector('.sent [data-key="void"]');
check((await swing(id)).voided === null && (await page.locator('[role="status"].wrong').count()) === 0, "and it counts again");

// ---- a second opinion ----

const head = await house.token("head");
check((await house.call("PUT", `/v1/swings/${id}/opinion`, head, { overswing: "absent", crowding: "present" })).status === 200, "(the head has said what is seen)");
check((await still("impact")).status < 300, "(a third picture is kept)");
const asked = page.asked.length;
await page.locator('.sent [data-key="opinion"]').click();
await page.waitForSelector('[data-key="opinion-say"]');
const blind = await page.innerText("#room");
check(blind.includes(en["opinion.blind"]) && blind.includes(en["opinion.given"].one.replace("{n}", "1")), "that there is an opinion is told");
check((await page.locator("#room table").count()) === 0 && !page.asked.slice(asked).some((line) => line.includes("/report")), "what it says is not, nor what the report says");
check((await page.locator(".stills img").count()) === 3 && (await page.locator(".stills svg").count()) === 0, "the pictures stand without lines");
const order = ["address", "shaft_back", "arm_back", "top", "arm_down", "shaft_down", "impact", "shaft_through", "arm_through", "finish"].map((name) => en[`checkpoint.${name}`]);
const shown = (await page.locator(".stills figcaption").allInnerTexts()).map((text) => order.findIndex((name) => text.endsWith(name)));
check(shown.every((at, i) => at >= 0 && (i === 0 || shown[i - 1] < at)), `in the order of the swing (${shown})`);
check(await page.locator('select[name="hips_slide_away"]').count() === 0, "a fault that this view can't show is not asked for");
check(await page.locator('[data-key="opinion-say"]').isDisabled(), "nothing is said by saying nothing");
await accessible(page, "a second opinion");
await targets(page, "a second opinion");
await keep(page, "sent_opinion");
await page.selectOption('select[name="overswing"]', "present");
await page.selectOption('select[name="crowding"]', "cant_see");
await page.locator('[data-key="opinion-say"]').click();
await page.waitForSelector("#room table");
const seen = await page.locator('tr[data-fault="overswing"] td').allInnerTexts();
check(seen[0] === en["opinion.present"] && seen[1] === en["opinion.absent"], `then both are shown: ${seen.join(" | ")}`);
await accessible(page, "opinions beside each other");
await page.locator('[data-key="opinion-change"]').click();
await page.selectOption('select[name="overswing"]', "cant_see");
await page.locator('[data-key="opinion-say"]').click();
check(await until(async () => (await page.locator('tr[data-fault="overswing"] td').allInnerTexts())[0] === en["opinion.cant_see"], "the change"), "an opinion is changed");
const { opinions, core } = (await house.call("GET", `/v1/swings/${id}/opinions`, token)).data;
const mine = opinions.find(({ faults }) => faults.crowding === "cant_see");
check(mine?.first.overswing === "present" && mine.faults.overswing === "cant_see", `what was said first stays (${JSON.stringify(core)})`);
await room(`#report/${id}`);

// ---- another student's ----

await act("move", "It was another", async (node) => {
  await node.locator(`option[value="${other.id}"]`).waitFor({ state: "attached" });
  await node.locator("select").selectOption(other.id);
});
check(await until(async () => (await swing(id)).student_id === other.id, "the other student"), "it is given to another student");
check(await until(() => page.evaluate((to) => location.hash === to, `#student/${student.id}`), "the student's page"), "and the coach is back with the first");
check(await until(async () => (await page.textContent("#said")) === said("sent.moved", { name: other.name }), "what was said"), "who hears where it went");
quiet(page, "the room was");
await page.context().close();
await chromium.close();
await house.end();
finish("pages_after_sending");
