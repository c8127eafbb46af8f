// A report as a coach and a student read it, from swings sent with their stills: what comes first, what the lines say, the
// words that the errors allow, what was not judged, giving a fix and taking it back; the student's room; a new student.
import { readFileSync } from "node:fs";

import { de, en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, phone, quiet, signIn, tablet, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const token = await house.token("coach1");
const students = (await house.call("GET", "/v1/students?limit=200", token)).data.students;
const adults = students.filter(({ junior, hand }) => !junior && hand === "right");
const openFixes = async ({ id: who }) => (await house.call("GET", `/v1/students/${who}/fixes?status=open`, token)).data.fixes;
const free = []; // who has no open fix comes first
for (const item of adults) free[(await openFixes(item)).length === 0 ? "unshift" : "push"](item);
check(free.length > 2 && (await openFixes(free[0])).length === 0, "a student without an open fix, and two more");
const { etag: asItWas } = await house.call("GET", `/v1/students/${free[0].id}`, token);
await house.call("PATCH", `/v1/students/${free[0].id}`, token, { pain: [] }, { "If-Match": asItWas }); // what is sore: test_pain.mjs
const page = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");

/** A picture of one colour, as large as a view says. */
const jpeg = async ({ width, height }) => Buffer.from(await page.evaluate(async ([wide, high]) => {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [wide, high];
  const pen = canvas.getContext("2d");
  pen.fillStyle = "#8fb98f";
  pen.fillRect(0, 0, wide, high);
  return canvas.toDataURL("image/jpeg", 0.5).split(",")[1];
}, [width, height]), "base64");

/** A swing of a file in tests/data, sent with a still for every checkpoint; its id. */
async function swing(file, student, change = (copy) => copy) {
  const body = change({ ...JSON.parse(readFileSync(new URL(`../data/${file}.json`, import.meta.url))), recorded_at: new Date(Date.now() - 3600000 + 60000 * swing.count++).toISOString().replace(/\.\d+/, "") });
  const made = await house.call("POST", `/v1/students/${student.id}/swings`, token, body);
  if (made.status !== 201) throw new Error(`${made.status}: ${JSON.stringify(made.data)}`);
  for (const view of body.views) {
    const picture = await jpeg(view.image);
    for (const frame of view.frames) {
      const answer = await fetch(`${house.origin}/v1/swings/${made.data.id}/stills/${view.view}-${frame.checkpoint}`,
        { method: "PUT", headers: { Authorization: `Bearer ${token}`, "Content-Type": "image/jpeg" }, body: picture });
      if (!answer.ok) throw new Error(`still: ${answer.status} ${await answer.text()}`);
    }
  }
  return made.data.id;
}
swing.count = 0;

const reportOf = async (id) => (await house.call("GET", `/v1/swings/${id}/report`, token)).data;
async function show(hash) {
  await page.goto(`${house.origin}/bay.html#${hash}`);
  await page.reload();
  await page.waitForSelector("#room h2");
  if (hash.startsWith("report")) await page.waitForSelector(".still image, .numbers");
}

/** Every pair of labels on one picture that lie on each other, and labels beyond the picture. */
const clashes = () => page.evaluate(() => [...document.querySelectorAll(".still svg")].flatMap((svg) => {
  const label = svg.getAttribute("aria-label");
  const whole = svg.getBoundingClientRect();
  const boxes = [...svg.querySelectorAll("text.value, g.key")].map((node) => node.getBoundingClientRect());
  const out = boxes.filter((box) => box.left < whole.left - 1 || box.right > whole.right + 1 || box.top < whole.top - 1 || box.bottom > whole.bottom + 1).map(() => `${label}: beyond`);
  return [...out, ...boxes.flatMap((one, i) => boxes.slice(i + 1).filter((two) => one.left < two.right && two.left < one.right && one.top < two.bottom && two.top < one.bottom).map(() => label))];
}));

/** What stands at each line against what the eye sees there: [{text, seen}], the angle taken from the drawn line itself. */
const beside = () => page.evaluate(() => [...document.querySelectorAll(".still svg")].flatMap((svg) => {
  const lines = [...svg.querySelectorAll(".over")].map((line) => line.getAttribute("points").split(" ").map((point) => point.split(",").map(Number)));
  const angles = lines.map((points) => {
    const [[x1, y1], [x2, y2], third] = points;
    if (!third) return Math.abs((Math.atan2(x2 - x1, y1 - y2) * 180) / Math.PI);
    const turn = Math.abs(((Math.atan2(third[1] - y2, third[0] - x2) - Math.atan2(y2 - y1, x2 - x1)) * 180) / Math.PI) % 360;
    return Math.min(turn, 360 - turn);
  });
  return [...svg.querySelectorAll("text.value")].map((text) => ({ text: text.textContent, off: Math.min(...angles.map((angle) => Math.abs(angle - Math.abs(parseFloat(text.textContent))))) }));
}));

/** Rings on the picture, rings in its caption, and lines that carry neither ring nor value. */
const rings = () => page.evaluate(() => [...document.querySelectorAll(".still")].map((still) => ({
  name: still.querySelector("strong").textContent,
  drawn: [...still.querySelectorAll("g.key")].map((node) => node.textContent).sort(),
  told: [...new Set([...still.querySelectorAll("figcaption .key")].map((node) => node.textContent))].sort(),
  lines: still.querySelectorAll(".over").length, values: still.querySelectorAll("text.value").length, note: Boolean(still.querySelector(".hint")),
})));

// ---- A. the pictures ----
async function pictured(file, student, what, change) {
  const id = await swing(file, student, change);
  const report = await reportOf(id);
  await show(`report/${id}`);
  await page.waitForSelector(".still image");
  const first = report.first_fixes[0].fault;
  const sign = report.faults.find(({ fault }) => fault === first).signs.filter((item) => item.severity > 0).sort((a, b) => b.weight * b.severity - a.weight * a.severity)[0];
  const front = await page.locator(".still strong").first().textContent();
  check(front.endsWith(en[`checkpoint.${sign.checkpoint}`]), `${what}: the first picture is where ${first} was read (${front})`);
  check((await clashes()).length === 0, `${what}: no two labels lie on each other, none beyond its picture${(await clashes()).map((text) => ` -- ${text}`).join("")}`);
  const values = await beside();
  check(values.length >= 2 && values.every(({ off }) => off < 1.6), `${what}: the numbers at lines are what the eye sees (${values.map(({ text, off }) => `${text} off ${off.toFixed(1)}`).join(", ")})`);
  const found = await rings();
  check(found.some(({ drawn }) => drawn.length > 1) && found.every(({ drawn, told }) => drawn.join() === told.join()), `${what}: every ring on a picture stands again in its caption`);
  check(found.every(({ drawn, lines, values: count, note }) => drawn.length + count >= lines && note === drawn.length > 0), `${what}: no line without a ring or a value, and the caption says what a ring is`);
  return { id, report };
}
const { id, report } = await pictured("two_views", free[0], "right-hander");
const top = page.locator(".still", { hasText: "From behind, top" });
check((await top.locator("figcaption .key", { hasText: "1" }).count()) === 2 && (await top.locator("g.key").count()) === 2, "two measures on one line share its ring");
check((await page.locator(".still .range").count()) >= 2, "spine and lean keep their wedges");
await accessible(page, "report");
await targets(page, "report");
await keep(page, "report");

// ---- B. certainty ----
const WITHIN = 1.96;
const expected = ({ value, sd, ok, strong, word: code }) => {
  const word = en[`severity.${code}`];
  if (!ok) return "";
  const [low, high] = ok.map((limit, i) => (strong[i] === null ? null : limit));
  if ((low === null || value - WITHIN * sd >= low) && (high === null || value + WITHIN * sd <= high)) return "fine";
  if ((low === null || value >= low) && (high === null || value <= high)) return low !== null && high !== null && high - low < 1.349 * sd ? "not certain" : "probably fine";
  if ((low !== null && value + WITHIN * sd < low) || (high !== null && value - WITHIN * sd > high)) return word;
  return word === "none" ? "not certain" : `${word}, not certain`;
};
check(!(await page.locator(".numbers table").isVisible()), "the table of numbers is folded");
await page.locator(".numbers summary").tap();
const rows = await page.locator(".numbers tbody tr").evaluateAll((all) => all.map((row) => [...row.cells].map((cell) => cell.textContent.trim())));
const wrong = report.measures.filter((item, i) => rows[i][3] !== expected(item)).map((item) => `${item.measure} ${expected(item)}`);
check(rows.length === report.measures.length && wrong.length === 0, `each of ${rows.length} measures has the word its error allows${wrong.length ? ` -- ${wrong.join(", ")}` : ""}`);
const kinds = new Set(report.measures.map(expected).map((word) => (word.includes("not certain") ? "unsure" : word === "probably fine" ? "probably" : word === "fine" ? "fine" : word ? "sure" : "none")));
check(["unsure", "fine", "probably", "sure"].every((kind) => kinds.has(kind)), "among them fine, probably fine, certain and uncertain ones");
const captions = (await page.locator(".still figcaption").allTextContents()).join(" ");
check(["not certain", "probably fine"].every((word) => captions.includes(word)), "the captions use the same words");
check(!/\bnone\b/.test(await page.locator("#room").innerText()), "\"none\" is never shown");
check((await page.locator(".numbers th").allTextContents()).slice(0, 4).join("|") === "What|Value ± error|Fine|Rating" && (await page.locator(".numbers").innerText()).includes("19 times out of 20"), "column heads in plain words, and what ± means said under the table");

// ---- E. plainness ----
const slide = rows.find(([name]) => name.startsWith("Hip slide") && name.endsWith("impact"));
check(/^0\.\d\d ± 0\.\d\d stance widths$/.test(slide[1]), `a share of a length has its unit in words: ${slide[1]}`);
const lead = await page.locator("#room .lead").first().textContent();
check(lead.startsWith(`First thing to change: ${en[`fault.${report.first_fixes[0].fault}`]}.`) && /more than 99 % sure/.test(lead), `it opens for the student: ${lead}`);
const cards = await page.locator(".card:has(h3)").evaluateAll((all) => all.map((node) => [...node.querySelectorAll(":scope > p")].map((line) => line.textContent).join(" ")));
const next = report.faults.find(({ fault }) => fault === report.first_fixes[1].fault);
check(cards[1].includes(`We are ${Math.round(100 * next.p)} % sure`) && [lead, ...cards].every((text) => !/slight|moderate|strong/.test(text)), `how sure is said of a fault, how strong of its measures alone: ${cards[1]}`);
const sentences = (await page.locator("#room p:not(.field), #room li, #room h3").allTextContents()).flatMap((text) => text.split(/[.;]\s/));
const thrice = sentences.filter((text) => {
  const words = text.toLocaleLowerCase().match(/[a-z]{4,}/g) ?? [];
  return words.some((word) => words.filter((other) => other === word).length > 2);
});
check(sentences.length > 50 && thrice.length === 0, `no word three times in one of ${sentences.length} sentences${thrice.length ? ` -- ${thrice[0]}` : ""}`);

// ---- D. the fix ----
const card = page.locator(".card.first");
check(/^[A-Z][^{}_\d]*\.$/.test(await card.locator(".plain").textContent()), `one plain sentence stands before the numbers: ${await card.locator(".plain").textContent()}`);
await card.locator("[data-key=give]").tap();
const drills = card.locator(".drill");
const known = new Map((await house.call("GET", "/v1/drills?limit=200", token)).data.drills.map((drill) => [drill.id, drill]));
const wanted = report.first_fixes[0].drills;
const told = await drills.allTextContents();
check(told.length === 2 && wanted.every(({ drill, dose }, i) => [known.get(drill).how_to, known.get(drill).feel, known.get(drill).cautions, `${dose.minutes} minutes`].every((text) => told[i].includes(text))),
  "each drill is shown before it is given: how, feel, what to mind, how often");
check((await drills.locator("svg.figure").count()) === 2, "and its figure");
await accessible(page, "drills to give");
await targets(page, "drills to give");
await keep(page, "report-drills");
await card.locator("[data-key=notNow]").tap();
check((await drills.count()) === 0 && (await page.evaluate(() => document.activeElement.dataset.key)) === "give" && (await openFixes(free[0])).length === 0, "\"Not now\" closes again, nothing is given, and the focus is where it was");
await card.locator("[data-key=give]").tap();
for (const tick of await drills.locator("input").all()) await tick.tap();
check(await card.locator("[data-key=sure]").isDisabled(), "a fix without any drill can't be given");
await drills.locator("input").nth(1).tap();
await card.locator("[data-key=sure]").tap();
await card.locator(".given").waitFor();
const [given] = await openFixes(free[0]);
check(given.fault === report.first_fixes[0].fault && given.homework.length === 1 && given.homework[0].drill === wanted[1].drill, "a drill that is left out is not given");
check((await page.evaluate(() => document.activeElement.className)) === "given" && (await card.locator("[data-key=give]").count()) === 0, "the report says that it is given, in place of the button");
/** What a coach needs in order to show a drill. */
const taught = ({ drill }, dose) => [known.get(drill).name, known.get(drill).how_to, known.get(drill).feel, `${dose.minutes} minutes`];
const kept = await card.locator(".drill").allInnerTexts();
check(kept.length === 1 && taught(wanted[1], given.homework[0]).every((text) => kept[0].includes(text)) && (await card.locator(".drill svg.figure").isVisible()), "the drill that was given stays to be shown: name, how, feel, dose, figure");
check((await card.locator(".drill input").count()) === 0 && /on their own sheet/.test(await card.locator(".given").innerText()), "with nothing left to choose, and where the student finds it is said");
await accessible(page, "given drills");
await targets(page, "given drills");
await keep(page, "report-given");
// The tablet is turned round: what is for the coach alone is out of sight, the rest is large.
const turned = () => page.evaluate(() => {
  const seen = (selector) => [...document.querySelectorAll(selector)].some((node) => node.checkVisibility());
  return { shown: [".card.first h3", ".card.first .plain"].every(seen), coachs: [".numbers", ".looked", ".unjudged", ".other", "#out", ".card.first > ul", ".given", "[data-key=give]"].filter(seen),
    size: parseFloat(getComputedStyle(document.querySelector(".card.first .plain")).fontSize) };
});
const coachs = await turned();
await page.locator("[data-key=show]").tap();
const theirs = await turned();
check(coachs.coachs.length > 4 && theirs.shown && theirs.coachs.length === 0 && theirs.size >= 25, `turned round it shows the student's part alone, ${theirs.size} px high (${theirs.coachs})`);
await accessible(page, "a report turned round");
await keep(page, "report-turned");
await page.locator("[data-key=show]").tap();
check((await turned()).coachs.join() === coachs.coachs.join(), "and back again");
await page.locator("[data-key=show]").tap();
await page.evaluate(() => { location.hash = "#students"; });
await page.waitForSelector(".names a");
check((await page.locator("body.showing").count()) === 0, "another room is the coach's");
await show(`report/${id}`);
check((await card.locator(".drill").allInnerTexts()).join() === kept.join(), "it is still there when the report is opened again");
check((await card.locator(".given").count()) === 1 && (await card.locator("[data-key=give]").count()) === 0, "and says so when it is opened again");
await card.locator("[data-key=changed]").tap();
await page.waitForFunction(() => document.activeElement?.tagName === "INPUT");
check((await openFixes(free[0])).length === 1, "taking back asks once more");
check(await page.evaluate(() => document.getElementById(document.activeElement.getAttribute("aria-describedby"))?.innerText.startsWith("Needed")), "and says beforehand that the reason is needed");
const reasons = card.locator("[data-key=reason]");
check((await reasons.allTextContents()).join("|") === "wrong marks|another fix first|not for this student", "three reasons are ready");
for (const [i, text] of (await reasons.allTextContents()).entries()) {
  await reasons.nth(i).tap();
  check((await card.locator("input").inputValue()) === text && (await page.evaluate(() => document.activeElement.dataset.key)) === "changed-sure" && (await openFixes(free[0])).length === 1, `"${text}" fills the field, and nothing is taken back yet`);
}
await accessible(page, "taking back");
await targets(page, "taking back");
await keep(page, "report-taking-back");
await card.locator("input").fill("the wrong student");
await card.locator("[data-key=changed-sure]").tap();
await card.locator("[data-key=give]").waitFor();
const ended = (await house.call("GET", `/v1/students/${free[0].id}/fixes`, token)).data.fixes[0];
check((await openFixes(free[0])).length === 0 && ended.status === "changed" && ended.history.at(-1).reason === "the wrong student", "then it is taken back, with its reason");
await card.locator("[data-key=give]").tap();
const other = (await house.call("POST", `/v1/students/${free[0].id}/fixes`, token, { fault: report.first_fixes[0].fault, from_swing: id })).data;
await card.locator("[data-key=sure]").tap();
await card.locator(".given").waitFor();
check((await openFixes(free[0])).length === 1, "a fix that another coach gave meanwhile is shown as given, not given twice");
await card.locator("[data-key=changed]").tap();
await page.waitForFunction(() => document.activeElement?.tagName === "INPUT");
await house.call("PATCH", `/v1/fixes/${other.id}`, token, { status: "closed", reason: "meanwhile" }, { "If-Match": `"${other.version}"` });
await page.keyboard.type("too late");
await page.keyboard.press("Enter");
await card.locator("[data-key=give]").waitFor();
check((await house.call("GET", `/v1/students/${free[0].id}/fixes`, token)).data.fixes[0].history.at(-1).reason === "meanwhile", "one that another coach ended meanwhile is shown as ended, and not ended again");
await card.locator("[data-key=give]").tap();
await card.locator("[data-key=sure]").tap();
await card.locator(".given").waitFor();
check((await openFixes(free[0]))[0].homework.length === 2, "two taps give it with its drills");
const second = page.locator(`.card[data-fault=${report.first_fixes[1].fault}]`);
await second.locator("[data-key=give]").tap();
check((await second.locator("input[required]").inputValue()) === en["report.secondWhy.open"], "the second fix says why it is not the first");
await second.locator("[data-key=sure]").tap();
await second.locator(".given").waitFor();
check((await openFixes(free[0])).length === 2, "and can be given too");
quiet(page, "report");

// ---- what the ball did speaks against a fault; a part of the body that is still gaining ----
const flown = await swing("two_views", free[1], (copy) => ({ ...copy, flight: { start: "left", curve: "left", strike: "fat" } }));
const disagrees = (await reportOf(flown)).first_fixes.find(({ fault }) => fault === "upright_posture");
check(Boolean(disagrees), "a fault that the ball's start speaks against is among what to work on");
const gaining = { swing: 0, checkpoints: [], hands_low_s: 1.43, findings: [],
  peaks: [{ segment: "pelvis", time_s: 1.3, sd: 0.01, speed_deg_s: 360 }, { segment: "lead_arm", time_s: 1.28, sd: 0.001, speed_deg_s: 660 }],
  order: [{ segment: "pelvis", code: "first", of: null }, { segment: "chest", code: "not_yet" }, { segment: "lead_arm", code: "before", of: "pelvis" }, { segment: "club", code: "not_measured" }] };
await page.route(`**/v1/swings/${flown}/report`, async (route) => route.fulfill({ json: { ...await (await route.fetch()).json(), motion: [gaining] } }));
await show(`report/${flown}`);
const objection = await page.locator(".card[data-fault=upright_posture] li").allTextContents();
check(objection.some((text) => text.includes("The ball started left, which speaks against it.") && !text.includes("fits the ball")), `what doesn't fit is told with the fix: ${objection.at(-1)}`);
const parts = await page.locator(".motion li").allTextContents();
check(parts.length === 4 && parts[1] === `Chest: ${en["report.motion.not_yet"]}` && parts[3] === `Club: ${en["report.motion.not_measured"]}`, `a part that is still gaining has no fastest moment: ${parts[1]}`);
check(parts[0] === "Pelvis: fastest 130 ms ± 20 ms before the hands' low point." && parts[2].endsWith("That is before the pelvis: not the usual order."), `the others say when, and what came too early: ${parts[0]} ${parts[2]}`);
await page.unroute(`**/v1/swings/${flown}/report`);

// ---- C. what was not judged ----
const half = await swing("down_the_line", free[1]);
const behind = await reportOf(half);
await show(`report/${half}`);
const blank = behind.faults.filter(({ verdict }) => verdict === "not observed").map(({ fault }) => fault);
const listed = (await page.locator(".unjudged li").allTextContents()).map((text) => text.toLocaleLowerCase());
check(blank.length > 3 && blank.length === listed.length && blank.every((fault) => listed.includes(en[`topic.${fault}`].toLocaleLowerCase())), `all ${blank.length} faults that nothing was seen of are listed`);
const needs = await page.locator(".unjudged p").allTextContents();
check(needs.length < blank.length && new Set(needs).size === needs.length && needs.some((text) => /a picture from the front\.$/.test(text)) && needs.some((text) => /from behind and from the front/.test(text)), `grouped by what would show them: ${needs.join(" | ")}`);
check((await page.locator("#room").innerText()).includes(`${behind.faults.filter(({ verdict }) => ["present", "absent"].includes(verdict)).length} of ${behind.faults.length} faults could be judged`), "and how many were judged is said at the top");
const fineNow = behind.faults.filter(({ verdict }) => verdict === "absent").map(({ fault }) => fault);
const looked = await page.locator(".looked li").allTextContents();
check(fineNow.length > 2 && looked.length === fineNow.length && fineNow.every((fault) => looked.some((text) => text.startsWith(`${en[`question.${fault}`]} No.`) && text.includes("±"))), `${looked.length} faults that were looked at are told to be fine, with their numbers: ${looked[0]}`);

// A swing that was filmed for a question is answered first.
const verdictOf = (name) => behind.faults.find(({ fault }) => fault === name).verdict;
for (const [verdict, key] of [["present", "yes"], ["absent", "no"], ["not observed", "unseen"]]) {
  const fault = behind.faults.find((item) => item.verdict === verdict).fault;
  await show(`report/${half}/${fault}`);
  const told = await page.locator(".answer").innerText();
  check(told.startsWith(en[`question.${fault}`]) && told.includes(en[`answer.${key}`]) && (key === "unseen" ? told.includes("What would settle it: ") : told.includes("±")), `asked about ${fault} (${verdictOf(fault)}): ${told.replace(/\s+/g, " ").slice(0, 160)}`);
  check(await page.evaluate((text) => document.querySelector(".answer").getBoundingClientRect().top < [...document.querySelectorAll("h3")].find((node) => node.textContent === text).getBoundingClientRect().top, en["answer.else"]), "before everything else these marks can answer");
}
await accessible(page, "answered question");
await targets(page, "answered question");
await keep(page, "report-answer");
await show(`report/${half}`);

// A view that was sent is not asked for again: only more marks in its pictures. With next to no points it shows nothing.
const bare = (...stripped) => (copy) => {
  for (const view of copy.views.filter((item) => stripped.includes(item.view))) {
    for (const frame of view.frames) frame.points = Object.fromEntries(Object.entries(frame.points).filter(([point]) => ["grip"].includes(point)));
  }
  return copy;
};
const few = {};
for (const [what, stripped] of [["front", ["face_on"]], ["behind", ["down_the_line"]], ["both", ["face_on", "down_the_line"]]]) {
  const scarce = await swing("two_views", free[1], bare(...stripped));
  const asks = (await reportOf(scarce)).faults.filter(({ verdict }) => verdict === "not observed").flatMap(({ settle }) => settle ?? []);
  await show(`report/${scarce}`);
  few[what] = await page.locator(".unjudged p, .unsure li").allTextContents();
  check(asks.some((ask) => /face_on|down_the_line|both_views/.test(ask)) && few[what].length > 0 && !few[what].some((text) => /a picture from|one swing filmed/.test(text)), `both views sent, few marks ${what}: no picture is asked for (${few[what].join(" | ")})`);
}
check(few.front.some((text) => /more marks in the pictures from the front\.$/.test(text)) && few.behind.some((text) => /more marks in the pictures from behind\.$/.test(text)) && few.both.some((text) => /more marks in the pictures from behind and from the front\.$/.test(text)), "but more marks in them");
check(!needs.some((text) => text.includes("more marks")), "where a view was not sent, it is asked for");
const dim = await swing("two_views", free[1], (copy) => {
  copy.views[0].frames[0].points.neck[0] += 25; // a forward bend on the edge of what is fine
  return copy;
});
const doubtful = (await reportOf(dim)).faults.filter(({ verdict }) => verdict === "can't tell");
await show(`report/${dim}`);
const unsure = await page.locator(".unsure li").allTextContents();
check(doubtful.length > 0 && unsure.length === doubtful.length && unsure.every((text) => text.includes("To be sure we need: ")), `on the edge ${unsure.length} can't be told, with what would settle them: ${unsure[0]}`);
const guess = await swing("two_views", free[2], (copy) => {
  const frame = copy.views[1].frames.find(({ checkpoint }) => checkpoint === "shaft_through");
  frame.found = ["lead_elbow"];
  frame.points.lead_elbow = [...frame.points.lead_elbow, 30];
  return copy;
});
const guessed = (await reportOf(guess)).measures.filter((item) => item.guessed);
await show(`report/${guess}`);
await page.waitForSelector(".still image");
check(guessed.length > 0 && (await page.locator(".still li", { hasText: "from guessed points" }).count()) >= 1, `a caption says what rests on guessed points (${guessed.length})`);

// ---- two fixes are open: it is said before anything is offered ----
const busyBody = (await house.call("POST", "/v1/students", token, { name: "Teal Testing", hand: "right" })).data;
const loaded = await swing("two_views", busyBody);
const suggested = (await reportOf(loaded)).first_fixes.map(({ fault }) => fault);
await show(`report/${loaded}`);
check(suggested.length === 2 && (await page.locator(".worked p").count()) === 0 && (await page.locator("[data-key=give]").count()) === 2, "who is working on nothing: no line about it, and both fixes can be given");
const [oneOpen, twoOpen] = (await reportOf(loaded)).faults.map(({ fault }) => fault).filter((fault) => !suggested.includes(fault));
const openOne = async (fault) => (await house.call("POST", `/v1/students/${busyBody.id}/fixes`, token, { fault, overrule: "seen on the tee" })).status;
check((await openOne(oneOpen)) === 201, `one fix opened (${oneOpen})`);
await show(`report/${loaded}`);
const working = async () => ((await page.locator(".worked").textContent()).match(/: (.*)\.$/)?.[1] ?? "");
check((await working()) === en[`fault.${oneOpen}`] && (await page.locator("[data-key=give]").count()) === 2, `the report says at its top what is worked on: ${await page.locator(".worked").textContent()}`);
check(await page.evaluate(() => document.querySelector(".worked p").getBoundingClientRect().bottom < document.querySelector(".card.first").getBoundingClientRect().top), "above what is suggested");
check((await page.locator(`.other option[value=${oneOpen}]`).count()) === 0 && (await page.locator(`.other option[value=${twoOpen}]`).count()) === 1, "another fix is none of those that are open");
await card.locator("[data-key=give]").tap();
check((await openOne(twoOpen)) === 201, `another coach opens a second (${twoOpen})`);
await card.locator("[data-key=sure]").tap();
await card.locator(".full").waitFor();
const both = (await working()).split(" and ").sort().join();
check(both === [oneOpen, twoOpen].map((fault) => en[`fault.${fault}`]).sort().join() && (await page.locator("[data-key=sure]").count()) === 0, `what was refused is replaced by what can be done (${await working()})`);
await show(`report/${loaded}`);
check((await page.locator("[data-key=give], .other form").count()) === 0 && (await page.locator(".card .full").count()) === 2 && (await card.locator(".full").innerText()).includes(en["report.full"]), "two are open: nothing more is offered, and it says why");
const ends = (await card.locator(".full").innerText()).toLocaleLowerCase();
check((await card.locator(".full [data-key=closed]").count()) === 2 && (await card.locator(".full [data-key=changed]").count()) === 2 && [oneOpen, twoOpen].every((fault) => ends.includes(en[`fault.${fault}`].toLocaleLowerCase())), "but to end either of them, by its name");
await page.locator(".other summary").tap();
check((await page.locator(".other .full [data-key=changed]").count()) === 2, "so does the other fix, instead of its form");
await accessible(page, "two fixes open");
await targets(page, "two fixes open");
await keep(page, "report-two-open");
await card.locator(`[data-fault=${oneOpen}] [data-key=closed]`).tap();
await page.keyboard.type("it moved");
await page.keyboard.press("Enter");
await card.locator("[data-key=give]").waitFor();
check((await working()) === en[`fault.${twoOpen}`] && (await page.locator("[data-key=give]").count()) === 2 && (await page.locator(".other form").count()) === 1 && (await page.locator(".full").count()) === 0, "when one is ended, the report offers again, everywhere");
check((await page.evaluate(() => document.activeElement.dataset.key)) === "give" && (await openFixes(busyBody)).length === 1, "and the focus is on it");

await show(`student/${busyBody.id}`);
await page.locator("[data-key=changed]").tap();
await page.locator("[data-key=reason]", { hasText: "another fix first" }).tap();
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.querySelector("#room h3") && !document.querySelector("article[data-fault]"));
const taken = (await house.call("GET", `/v1/students/${busyBody.id}/fixes`, token)).data.fixes.find(({ fault }) => fault === twoOpen);
check(taken.status === "changed" && taken.history.at(-1).reason === "another fix first" && (await openFixes(busyBody)).length === 0, "two taps take a fix back with a ready reason");

// ---- a left-hander; and what no file of ours shows: values that the picture doesn't, lines in a heap, a picture taken upright ----
const lefty = students.find((item) => !item.junior && item.hand === "left");
if (lefty) await pictured("left_handed", lefty, "left-hander");
else check(false, "a left-hander in the demo club");
const wedges = await page.evaluate(() => [...document.querySelectorAll(".still svg:has(.range)")].map((svg) => {
  const [, from] = /M([\d.]+) /.exec(svg.querySelector(".range").getAttribute("d"));
  const ends = [...svg.querySelector(".range").getAttribute("d").matchAll(/ ([\d.]+) [\d.]+(?= A| Z)/g)].map((found) => Number(found[1]));
  return { name: svg.getAttribute("aria-label"), right: ends.every((end) => end > Number(from)) };
}));
check(wedges.some(({ name, right }) => name.startsWith("From behind, address") && !right), "a left-hander's good range leans to the other side");

const heaps = await page.evaluate(async () => {
  const { cropOf, drawings } = await import("/bay/drawings.js");
  const { svg } = await import("/lib/dom.js");
  const points = { lead_shoulder: [500, 500], lead_elbow: [500, 620], lead_wrist: [500, 740], trail_shoulder: [480, 510], neck: [495, 480], lead_hip: [505, 700], trail_hip: [495, 700], grip: [500, 730], clubhead: [505, 760] };
  const item = (measure, value) => ({ measure, value, sd: 2, unit: "deg", ok: [0, 20], word: "clear" });
  const all = ["shaft_direction", "shaft_cross", "spine_tilt", "spine_change", "shoulder_plane", "lead_elbow_bend"];
  return [{ width: 1920, height: 1080 }, { width: 1080, height: 1920 }].map((image) => {
    const crop = cropOf({ image, frames: [{ points }] });
    const drawn = drawings(all.map((measure) => item(measure, 40)), { points }, crop, "right");
    const place = svg("svg", { viewBox: [crop.x, crop.y, crop.width, crop.height].join(" "), width: 400, height: 400 }, drawn.nodes);
    document.body.append(place);
    const boxes = [...place.querySelectorAll("text.value, g.key")].map((node) => node.getBBox());
    const clash = boxes.some((one, i) => boxes.slice(i + 1).some((two) => one.x < two.x + two.width && two.x < one.x + one.width && one.y < two.y + two.height && two.y < one.y + one.height));
    const out = boxes.some((box) => box.x < crop.x || box.y < crop.y || box.x + box.width > crop.x + crop.width || box.y + box.height > crop.y + crop.height);
    place.remove();
    const inside = crop.x >= 0 && crop.y >= 0 && crop.x + crop.width <= image.width && crop.y + crop.height <= image.height;
    return { keyed: drawn.keys.size, rings: new Set(drawn.keys.values()).size, values: boxes.length - new Set(drawn.keys.values()).size, clash, out, inside, said: drawn.changes && drawn.space };
  });
});
check(heaps.every(({ keyed, rings: count, values }) => keyed === 6 && count === 4 && values === 0), "a value that the eye doesn't see there stands at no line, bend and lean included");
check(heaps.every(({ clash, out, inside }) => !clash && !out && inside), "lines in a heap, lying or upright: labels still apart, and within the picture");
check(heaps.every(({ said }) => said), "angles in space and changes are told apart");

// ---- F. the student's room, and a new student; G. rooms open at their top ----
await show(`student/${free[0].id}`);
await page.waitForSelector("[data-key=closed]");
await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
const low = await page.evaluate(() => window.scrollY);
await page.locator("a[href^='#report/']").last().evaluate((node) => node.click());
await page.waitForSelector(".numbers");
await page.waitForFunction(() => document.activeElement?.id === "room");
check(low > 200 && (await page.evaluate(() => window.scrollY)) === 0, `a report opens at its top (the room before was ${low} px down)`);
await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
await page.goBack();
await page.waitForSelector("[data-key=closed]");
await page.waitForFunction(() => document.activeElement?.id === "room");
check((await page.evaluate(() => window.scrollY)) === 0, "so does the student's room on the way back");
const work = page.locator("article[data-fault]");
check((await work.count()) === 2 && (await work.first().innerText()).includes("sessions a week") && (await work.first().innerText()).includes("not done yet"), "open fixes with the dose of their drills and how often they were done");
const folded = work.locator("details.drill");
const homework = (await openFixes(free[0])).flatMap((fix) => fix.homework);
check(homework.length > 2 && (await folded.count()) === homework.length && !(await folded.locator("svg.figure").first().isVisible()) && (await folded.first().locator("summary").isVisible()), `${homework.length} drills, how they go folded`);
for (const summary of await folded.locator("summary").all()) await summary.tap();
const opened = (await folded.allInnerTexts()).join();
check(homework.every((item) => taught(item, item).every((text) => opened.includes(text))) && (await folded.locator("svg.figure").count()) === homework.length && (await folded.locator("svg.figure").last().isVisible()), "and shown with its figure at a tap");
await accessible(page, "student's drills");
await targets(page, "student's drills");
await keep(page, "student-drills");
await swing("two_views", free[0]);
await show(`student/${free[0].id}`);
await page.waitForSelector("[data-key=judge]");
const links = await page.locator("a[href^='#report/']").evaluateAll((all) => all.map((node) => node.hash.split("/")[1]));
const times = new Map((await house.call("GET", `/v1/students/${free[0].id}/swings?limit=200`, token)).data.swings.map((item) => [item.id, item.recorded_at]));
check(links.length > 1 && links.every((link, i) => i === 0 || times.get(links[i - 1]) >= times.get(link)), `${links.length} swings, the newest first`);
check((await page.textContent("[data-key=judge]")) === "One report on these 2 swings", "the swings of today make one report, in plain words");
await accessible(page, "student");
await targets(page, "student");
await keep(page, "student");
await page.locator("[data-key=closed]").first().tap();
check((await page.locator("article[data-fault] .field .hint").isVisible()) && (await page.locator("[data-key=reason]").count()) === 0, "finishing needs a reason of its own");
await page.keyboard.type("it moved");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.querySelectorAll("article[data-fault]").length === 1);
check((await openFixes(free[0])).length === 1, "a fix is finished from the student's room");
await page.locator("[data-key=judge]").tap();
await page.waitForFunction(() => location.hash.startsWith("#lesson/"));
await page.waitForSelector(".still image");
check(/lesson of .*, 2 swings/.test(await page.locator("#room").innerText()), "and they are judged together");

await show("students");
const names = async () => page.locator(".names a").allTextContents();
const order = await names();
check(order.length > 5 && order.every((name, i) => i === 0 || new Intl.Collator("en-GB").compare(order[i - 1], name) <= 0), `${order.length} students by name`);
async function add(name, year) {
  await page.locator("[data-key=newStudent]").click();
  await page.waitForFunction(() => document.activeElement?.tagName === "INPUT");
  await page.keyboard.type(name);
  if (year) await page.fill(".new-student input[type=number]", String(year));
}
await add("Ärmgard Testing");
await accessible(page, "new student");
await targets(page, "new student");
await keep(page, "new-student");
check(!(await page.locator("label", { hasText: "Guardian who consents" }).isVisible()), "a grown-up needs no guardian");
await page.locator("[data-key=add]").tap();
await page.waitForSelector(".card .button.main");
const grown = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find((item) => item.name === "Ärmgard Testing");
const after = await names();
check(grown && !grown.junior && after.indexOf("Ärmgard Testing") === [...after].sort(new Intl.Collator("en-GB").compare).indexOf("Ärmgard Testing"), "a new student stands in the list, in the language's order");
await page.waitForSelector(".family form");
await accessible(page, "the family's way in");
check((await page.locator(".family").innerText()).includes(en["family.none"]), "a coach is asked for the family's way in");
const child = new Date().getFullYear() - 12;
await add("Wren Testing", child);
await page.fill(".new-student p:has(label:text('Guardian who consents')) input", "Rowan Testing");
await page.locator("[data-key=add]").tap();
await page.waitForFunction(() => document.querySelector("[role=status]")?.textContent.startsWith("Wren"));
const junior = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find((item) => item.name === "Wren Testing");
check(junior?.junior && junior.birth_year === child && junior.consent?.by === "Rowan Testing", "a junior with the guardian's consent");
await page.locator(".family input[name=sign_in]").fill("rowan.testing");
await page.locator(".family [data-key=link]").tap();
await page.waitForSelector(".family .card code");
const guardians = (await house.call("GET", `/v1/students/${junior.id}/family`, token)).data.accounts;
check(guardians.length === 1 && guardians[0].role === "guardian" && guardians[0].name === "Rowan Testing" && (await page.textContent(".family .card code")).startsWith(house.origin),
  "whom the coach invites with a one-time link");
check((await page.textContent(".family .card")).includes("rowan.testing") && (await page.isVisible("[data-key=family-copy]")), "with the name to sign in with, and a button that copies the address");
await accessible(page, "a family invited");
quiet(page, "student's rooms");

// The head makes a sign-in so too.
const head = await open(chromium, house.origin);
await signIn(head, house.origin, "head", house.password);
await head.waitForURL("**/desk.html");
await head.goto(`${house.origin}/bay.html#students`);
await head.locator("[data-key=newStudent]").click();
await head.keyboard.type("Linnet Testing");
await head.keyboard.press("Enter");
await head.locator(".family input[name=sign_in]").fill("linnet");
await head.locator("[data-key=link]").click();
await head.waitForSelector(".card code");
const link = await head.textContent(".card code");
const made = (await house.call("GET", "/v1/accounts?limit=200", await house.token("head"))).data.accounts.find((item) => item.sign_in === "linnet");
check(made?.role === "student" && made.name === "Linnet Testing" && link.startsWith(house.origin), "the head makes a sign-in with a one-time link");
await head.goto(link);
await head.waitForSelector("input[type=password]:visible");
check((await head.locator("body").innerText()).includes(en["front.join"]), "which opens the door once");
await accessible(head, "one-time link");
quiet(head, "head in the bay");

// ---- H. in German; and on a phone ----
const german = await open(chromium, house.origin, { size: phone, locale: "de-DE" });
await signIn(german, house.origin, "coach1", house.password);
await german.waitForSelector(".names a");
await german.goto(`${house.origin}/bay.html#report/${id}`);
await german.waitForSelector(".still image");
const text = (await german.locator("#room").innerText()).toLocaleLowerCase();
const left = report.faults.map(({ fault }) => en[`fault.${fault}`]).filter((words) => text.includes(words.toLocaleLowerCase()));
check(left.length === 0 && report.measures.every(({ measure }) => !text.includes(en[`measure.${measure}`].toLocaleLowerCase())), `no fault or measure is left in English${left.length ? ` -- ${left.join(", ")}` : ""}`);
const bend = report.measures.find(({ measure }) => measure === "spine_tilt");
const comma = (value) => value.toFixed(1).replace(".", ",");
check(text.includes(`${comma(bend.value)}° ± ${comma(1.96 * bend.sd)}°`), `numbers as Germans write them: ${comma(bend.value)}° ± ${comma(1.96 * bend.sd)}°`);
const drillsIn = (table) => Object.keys(table).filter((key) => key.startsWith("drill.") && text.includes(table[key].toLocaleLowerCase()));
check(drillsIn(en).length === 0 && drillsIn(de).length >= 4, `the drills in German (${drillsIn(de).length} texts${drillsIn(en).length ? `; English: ${drillsIn(en).join(", ")}` : ""})`);
check(await german.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth), "on a phone nothing sticks out");
await german.locator(".numbers summary").click();
const past = await german.evaluate(() => {
  const region = document.querySelector(".numbers .wide").getBoundingClientRect();
  return [...document.querySelectorAll(".numbers td")].filter((cell) => cell.getBoundingClientRect().right > region.right + 1 || cell.scrollWidth > cell.clientWidth + 1).map((cell) => cell.textContent);
});
check(past.length === 0, `every value of the table stands within its region on a phone${past.length ? ` -- ${past.length}: ${past.slice(0, 4).join(" | ")}` : ""}`);
await german.locator(".numbers summary").click();
await keep(german, "report-german-phone");

// A report of the first release holds English sentences where codes stand now: they are shown as they stand, and as English.
const told1 = { why: "It explains most of what is seen.", leave: "A strong chicken wing: it follows from the first.", care: "Stop when it hurts.", scope: "One swing is no habit." };
const { code, ...first } = report.leave_alone[0] ?? { fault: report.faults[0].fault };
await german.route(`**/v1/swings/${id}/report`, (asked) => asked.fulfill({ json: { ...report, scope: told1.scope, cautions: [told1.care],
  first_fixes: report.first_fixes.map((fix) => ({ ...fix, why: told1.why })), leave_alone: [{ ...first, sentence: told1.leave }] } }));
await german.reload();
await german.waitForSelector(".numbers");
const english = await german.locator("#room li[lang=en]").allTextContents();
check([told1.why, told1.leave, told1.care].every((text) => english.includes(text)), `an older report's sentences are shown, marked as English (${english.join(" | ")})`);
check((await german.locator("#room .hint").first().textContent()).includes(told1.scope), "and how far it may be believed");
await accessible(german, "older report");
quiet(german, "report in German");

await chromium.close();
await house.end();
finish("pages_report");
