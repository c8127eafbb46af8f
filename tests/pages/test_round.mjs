// A round on the course, on a phone: two taps a shot, undo, nine holes; closed and opened again, without a network, sent once; what the
// coach and the head then read of it.
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: phone, touch: true });
const staff = await house.token("head");
const rounds = async (id) => (await house.call("GET", `/v1/students/${id}/rounds`, staff)).data.rounds;
const tap = (key) => page.locator(`#round [data-key="${key}"]`).tap();
const heading = () => page.textContent("#round h3");
const at = (hole, n) => en["round.hole"].replace("{hole}", hole).replace("{of}", 9).replace("{n}", n);
const shot = async (flight, strike) => { await tap(flight); await tap(strike); };

await signIn(page, house.origin, "student05", house.password);
await page.waitForSelector("#round:not([hidden])");
const student = (await house.call("GET", "/v1/me/homework", await house.token("student05"))).data.student_id;
check((await page.locator("#round").innerText()).includes(en["round.why"]), "what is counted stands there before one begins");
await tap("round");
check((await heading()) === at(1, 1) && (await page.evaluate(() => document.activeElement.tagName)) === "H3", "the first hole, and the focus is there");
await accessible(page, "a round, the flight");
await targets(page, "a round, the flight");
const box = await page.locator("#round .nine button").first().boundingBox();
check(box.height >= 80 && box.width >= 80, `what is pressed is large (${Math.round(box.width)} x ${Math.round(box.height)})`);
check(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), "nothing sticks out sideways");
await keep(page, "round-flight");
await tap("right-left");
check((await page.textContent("#round .asks")).includes("starts right, curves left"), "the second question says what was tapped first");
await accessible(page, "a round, the strike");
await targets(page, "a round, the strike");
await keep(page, "round-strike");
await tap("round-undo");
check((await page.locator("#round [data-key='straight-straight']").count()) === 1, "undone after the first tap, the flight is asked again");
await shot("right-straight", "flush");
check((await heading()) === at(1, 2), "two taps are a shot");
await shot("left-left", "fat");
await tap("round-undo");
check((await heading()) === at(1, 2), "undone, the shot is gone");
for (let hole = 2; hole <= 9; hole++) {
  await tap("next-hole");
  await shot("straight-straight", "thin");
}
check((await heading()) === at(9, 2) && (await page.locator("#round [data-key=next-hole]").count()) === 0, "nine holes, and no tenth");
await tap("unseen");
await tap("unknown");

// The phone is put away and taken out again where there is no network.
await settled(page);
await page.evaluate(() => navigator.serviceWorker.ready);
await page.waitForFunction(() => caches.keys().then((names) => names.some((name) => name.startsWith("leadside-pages"))));
await page.context().setOffline(true);
await page.reload();
await page.waitForSelector("#round:not([hidden]) h3");
check((await heading()) === at(9, 3), "closed and opened without a network, it goes on where it was");
await shot("right-right", "toe");
await tap("finish");
await page.waitForSelector("#round [data-key=send]");
check((await page.locator("#round").innerText()).includes("11 shots are kept on this phone"), "finished without a network, it is kept on the phone");
await accessible(page, "a round that waits");
await keep(page, "round-waits");
check((await rounds(student)).length === 0, "and is nowhere else");
await page.context().setOffline(false);
await page.waitForSelector("#round [data-key=round]");
await settled(page);
const [kept, ...more] = await rounds(student);
check(more.length === 0 && kept.holes === 9 && kept.count === 11, "with a network again it is sent by itself, once");
const { shots } = (await house.call("GET", `/v1/rounds/${kept.id}`, staff)).data;
check(JSON.stringify([shots[0], shots[9], shots[10]]) === JSON.stringify([{ hole: 1, start: "right", curve: "straight", strike: "flush" }, { hole: 9, start: "unknown", curve: "unknown", strike: "unknown" }, { hole: 9, start: "right", curve: "right", strike: "toe" }]), "as it was tapped");
check((await page.evaluate(() => Object.keys(localStorage).filter((name) => name.startsWith("leadside.round")).length)) === 0, "nothing of it stays on the phone");
await page.waitForSelector("#round .transfer p");
check((await page.textContent("#round .transfer")).startsWith(en["transfer.title"] + "It is too early to say."), "one round is too few to say");

// A round that is thrown away is asked about first.
await tap("round");
await shot("left-straight", "heel");
await tap("away");
await tap("away-no");
check((await heading()) === at(1, 2), "left, it goes on");
await tap("away");
await tap("away-yes");
check((await page.locator("#round [data-key=round]").count()) === 1 && (await rounds(student)).length === 1, "thrown away, nothing was kept");
page.complaints = page.complaints.filter((complaint) => !complaint.includes("ERR_INTERNET_DISCONNECTED")); // the test's own doing
quiet(page, "a round");

// Another pattern, in a sentence.
const { data: other } = await house.call("POST", "/v1/students", staff, { name: "Wren Testing", hand: "right", birth_year: 1980 });
const made = (start) => ({ hole: 1, start, curve: "straight", strike: "flush" });
for (let n = 0; n < 2; n++) await house.call("POST", `/v1/students/${other.id}/rounds`, staff, { played_at: `2026-05-0${n + 1}T12:00:00Z`, shots: Array.from({ length: 15 }, (_, k) => made(k < 8 ? "right" : "straight")) });
for (let n = 0; n < 40; n++) {
  await house.call("POST", `/v1/students/${other.id}/swings`, staff, { schema: "leadside.swing/1", recorded_at: `2026-05-1${n % 4}T12:${10 + n}:00Z`, hand: "right", club: { kind: "iron" },
    measured: [{ measure: "shaft_cross", checkpoint: "top", value: 3, sd: 2 }], flight: { start: n < 3 ? "right" : "straight", curve: "straight", strike: "flush" } });
}
const sentence = "On the course the ball starts right more often than on the range.";
const desk = await open(chromium, house.origin);
await signIn(desk, house.origin, "head", house.password);
await desk.waitForURL(/desk/);
await desk.goto(`${house.origin}/desk.html#story/${other.id}`);
await desk.waitForSelector(".transfer strong");
check((await desk.textContent(".transfer strong")) === sentence && (await desk.textContent(".transfer p")).includes("On the course 16 of 30 shots, on the range 3 of 40."), "the file at the desk says what differs, and how often it was");
await desk.locator(".transfer summary").click();
check((await desk.locator(".transfer table").first().innerText()).replace(/\s+/g, " ").includes("right 16 of 30 3 of 40"), "with the counts");
await accessible(desk, "the desk with a round");
await keep(desk, "round-desk");
await desk.goto(`${house.origin}/bay.html#student/${other.id}`);
await desk.waitForSelector(".transfer strong");
check((await desk.textContent(".transfer strong")) === sentence, "and so does the bay");
await accessible(desk, "the bay with a round");
const before = (await rounds(other.id)).length;
const press = (key) => desk.locator(`#round [data-key="${key}"]`).click();
for (const key of ["round", "left-right", "heel", "straight-straight", "flush"]) await press(key);
await accessible(desk, "a coach's round");
await targets(desk, "a coach's round");
await keep(desk, "round-bay");
await desk.reload();
await desk.waitForSelector("#round h3");
check((await desk.textContent("#round h3")) === at(1, 3), "a coach tallies too, and it goes on after a reload");
await press("finish");
await desk.waitForSelector("#round [data-key=round]");
const [byHead] = await rounds(other.id);
const { id: head } = (await house.call("GET", "/v1/me", staff)).data;
check((await rounds(other.id)).length === before + 1 && byHead.made_by === head && byHead.count === 2, "and it is there, with whose it is");

// Another student's page while one's round is still being sent: the other's own round is not touched.
const roomOf = async (id) => {
  await desk.goto(`${house.origin}/bay.html#student/${id}`);
  await desk.waitForSelector("#round [data-key]");
};
await roomOf(student);
for (const key of ["round", "left-left", "fat"]) await press(key);
await roomOf(other.id);
for (const key of ["round", "right-right", "toe"]) await press(key);
let release;
await desk.route(/rounds$/, async (route) => {
  if (route.request().method() === "POST") await new Promise((go) => { release = go; });
  await route.continue();
});
await press("finish");
await roomOf(student);
check((await desk.textContent("#round h3")) === at(1, 2), "the other's round stands there");
release();
await settled(desk);
check((await rounds(other.id)).length === before + 2, "the first one has arrived");
await desk.reload();
await desk.waitForSelector("#round h3");
check((await desk.textContent("#round h3")) === at(1, 2), "and the other's still stands");
await roomOf(other.id);
check((await desk.locator("#round [data-key=round]").count()) === 1, "the one that was sent does not");
quiet(desk, "desk and bay");

await chromium.close();
await house.end();
finish("pages_round");
