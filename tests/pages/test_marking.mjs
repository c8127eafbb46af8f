// Marking one still: what a tap means beside own marks and guesses, rings that accept, dragging, sticks, a second finger, undo, skip, the
// figure from which a point is picked, the closer look.
import { browser, check, club, finish, open, quiet, signIn, tablet, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");

/** A marker alone on the page: a picture of 800 x 600 with four points to mark, or others. */
async function fresh(marks, points = ["head", "neck", "grip", "clubhead"], hand = "right") {
  await page.evaluate(async ([given, ids, hand]) => {
    await import("/bay/swing.js"); // what a swing looks like comes with it
    const { Marker } = await import("/bay/marking/marker.js");
    const canvas = document.createElement("canvas");
    canvas.width = 800;
    canvas.height = 600;
    canvas.getContext("2d").fillRect(0, 0, 800, 600);
    const picture = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
    window.marks = given;
    const ends = { "stick-0-0": "stick-0-1" };
    const asked = Object.assign(document.createElement("p"), { className: "asked" });
    window.marker = new Marker({
      picture, width: 800, height: 600, hand, asked, targets: ids.map((id) => ({ id, label: `point ${id}`, end: ends[id] ?? null })), read: (id) => window.marks[id] ?? null,
      write: (id, mark) => { if (mark) window.marks[id] = mark; else delete window.marks[id]; },
      settled: () => { window.kept = structuredClone(window.marks); },
      look: { close: false, around: () => Object.values(window.marks) },
    });
    const place = document.createElement("div");
    place.style.cssText = "display: flex; height: 600px";
    place.append(window.marker.stage, window.marker.figure.node);
    document.querySelector("#room").replaceChildren(asked, place);
    await document.querySelector(".stage img").decode();
  }, [marks, points, hand]);
  await page.waitForFunction(() => document.querySelector(".inner").style.width);
}
const box = () => page.locator(".stage img").boundingBox();
/** Where a picture's pixel stands on the screen, d px of the screen aside. */
async function spot(u, v, d = 0) {
  const image = await box();
  return [image.x + (u / 800) * image.width + d, image.y + (v / 600) * image.height];
}
const tap = async (u, v, d) => page.touchscreen.tap(...(await spot(u, v, d)));
const marks = () => page.evaluate(() => window.marks);
const kept = () => page.evaluate(() => JSON.stringify(window.kept) === JSON.stringify(window.marks));
const chosen = () => page.evaluate(() => window.marker.chosen);
const asked = () => page.textContent(".asked");
const near = (mark, u, v, within = 1.5) => mark && Math.hypot(mark.u - u, mark.v - v) <= within;
const pick = (id) => page.locator(`[data-point="${id}"]`).tap();
const act = (name) => page.evaluate((name) => window.marker[name](), name);
const drag = async (from, to) => {
  await page.mouse.move(...from);
  await page.mouse.down();
  await page.mouse.move(...to, { steps: 5 });
};

await fresh({});
check((await asked()) === "Tap: point head", "the first point is asked for by its name");
await tap(100, 100);
await tap(200, 100);
check(near((await marks()).head, 100, 100) && near((await marks()).neck, 200, 100) && (await chosen()) === "grip", "one tap each, and the next is asked for");
await tap(205, 100); // close to the neck, but the grip is asked for
check(near((await marks()).grip, 205, 100) && near((await marks()).neck, 200, 100), "a point may lie close to another");
await tap(400, 300);
check(near((await marks()).clubhead, 400, 300), "the last point");
check((await asked()).includes("All of this picture"), "and then it says that all is marked");
check((await page.locator(".marks line.over.club").count()) === 1 && (await page.locator(".marks line.over.middle").count()) === 1, "shaft and body are drawn between the marks");
await fresh({ head: { u: 100, v: 100 }, neck: { u: 200, v: 100 }, grip: { u: 205, v: 100 } });
await page.evaluate(() => {
  window.marker.settled = () => {
    const next = Object.assign(document.createElement("button"), { id: "over", onclick: () => { window.pressed = true; } });
    next.style.cssText = "position: fixed; inset: 0; z-index: 99";
    document.body.append(next);
  };
});
await tap(400, 300);
await page.waitForSelector("#over");
await page.waitForTimeout(400); // a click would have come by now
check(near((await marks()).clubhead, 400, 300) && !(await page.evaluate(() => window.pressed)), "the touch that sets the last point presses nothing that comes in its place");
await page.evaluate(() => document.querySelector("#over").remove());
await fresh({});
await act("skip");
check((await chosen()) === "neck", "a point can be skipped");
await tap(200, 100);
await tap(210, 110);
await tap(400, 300);
check((await asked()).includes("All of this picture") && !(await marks()).head, "and is not asked for again");
await tap(100, 100);
check(!(await marks()).head && near((await marks()).clubhead, 400, 300), "a stray touch then changes nothing");
await pick("head");
await tap(100, 100);
check(near((await marks()).head, 100, 100), "until it is picked on the figure");
await pick("head");
const scale = 800 / (await box()).width;
await page.keyboard.press("Escape");
await page.evaluate(() => { window.marker.named = false; });
await tap(400, 300, 20);
check(near((await marks()).clubhead, 400, 300), "a touch beside a mark that stands does not move it");
const at = await spot(100, 100);
await drag(at, [at[0] + 30, at[1] + 12]);
check(await page.locator(".lens").isVisible(), "while dragging, the lens shows");
const lens = await page.locator(".lens").boundingBox();
check(lens.x > at[0] + 30 || lens.x + lens.width < at[0] + 30, "beside the finger and not beneath it");
check((await page.locator(".mark.on text").textContent()) === "point head", "and the point has its name beside it");
check(!(await kept()), "and nothing is kept yet");
await page.mouse.up();
check(await kept(), "a drag is kept when it ends");
check(near((await marks()).head, 100 + 30 * scale, 100 + 12 * scale) && !(await page.locator(".lens").isVisible()), "a mark is dragged by what the finger moves");
await act("undo");
check(near((await marks()).head, 100, 100), "undo brings it back");
await page.evaluate(() => window.marker.set("head", null));
check(!(await marks()).head && (await asked()) === "Tap: point head", "a mark is taken away, and asked for again");

// Guesses: rings.
const guesses = () => ({ head: { u: 300, v: 200, sd: 25, found: true }, neck: { u: 500, v: 200, sd: 25, found: true }, grip: { u: 100, v: 500 }, clubhead: { u: 200, v: 500 } });
await fresh(guesses());
check((await chosen()) === null && (await asked()).startsWith("Is it right?"), "what was found is asked about as a whole");
const within = 18; // px of the screen, within the ring that is drawn
await tap(300, 200, within);
const first = (await marks()).head;
check(near(first, 300, 200, 0) && !first.found && first.sd === 25, "a touch anywhere in a ring accepts the guess where it is, with its error");
check((await marks()).neck.found === true && (await chosen()) === null, "and no other");
await tap(650, 400);
check(JSON.stringify((await marks()).neck) === JSON.stringify(guesses().neck), "a touch beside every ring changes nothing");
const ring = await spot(500, 200, 6);
await drag(ring, [ring[0] + 40, ring[1]]);
await page.mouse.up();
const moved = (await marks()).neck;
check(near(moved, 500 + 40 * scale, 200, 2) && !moved.found && moved.sd === undefined, "a ring that is pulled goes along, and is the coach's own mark");
await act("undo");
check((await marks()).neck.found === true, "undo makes it a guess again");
await pick("neck");
check((await asked()).startsWith("Is this the point neck?"), "picked by its name it is asked about alone");
await tap(600, 300);
check(near((await marks()).neck, 600, 300) && !(await marks()).neck.found, "and goes where it is touched");
await fresh(guesses());
await page.evaluate(() => { window.marker.acceptAll(); });
check(Object.values(await marks()).every((mark) => !mark.found) && (await marks()).neck.sd === 25, "all are accepted at once, each with its own error");
const { grip: _, ...fewer } = guesses();
await fresh(fewer);
check((await asked()) === "Tap: point grip", "what was not found is asked for first");
await tap(500, 200, 3);
check(near((await marks()).grip, 500 + 3 * scale, 200) && (await marks()).neck.found, "and a tap serves it, even in a ring");
check((await page.locator(".mark.found circle[stroke-dasharray]").count()) === 2, "guesses are drawn dashed");

// A finger that pulls: the mark it began on is meant, though another point is asked for.
await fresh({ head: { u: 300, v: 200 } });
const on = await spot(300, 200, 3);
await page.mouse.move(...on);
await page.mouse.down();
check((await marks()).neck !== undefined, "a touch beside a mark sets the point that is asked for");
await page.mouse.move(on[0] + 40, on[1], { steps: 5 });
await page.mouse.up();
check(near((await marks()).head, 300 + 40 * scale, 200, 3) && !(await marks()).neck && (await chosen()) === "neck", "unless the finger moves: then it pulls that mark, and the point is asked for again");

// A stick is drawn from end to end.
await fresh({}, ["stick-0-0", "stick-0-1", "target"]);
check((await asked()) === "Pull along it: point stick-0-0", "a stick is asked for as a whole");
await drag(await spot(200, 500), await spot(300, 200));
await page.mouse.up();
const stick = await marks();
check(near(stick["stick-0-0"], 200, 500, 2) && near(stick["stick-0-1"], 300, 200, 2) && (await chosen()) === "target", "one pull marks both ends");
await fresh({}, ["stick-0-0", "stick-0-1", "target"]);
await tap(200, 500);
await tap(300, 200);
check(near((await marks())["stick-0-0"], 200, 500) && near((await marks())["stick-0-1"], 300, 200), "two taps do so too");

// Two fingers: not a mark but a closer look.
await fresh({});
const [x, y] = await spot(250, 250);
await page.evaluate(([px, py]) => {
  const stage = document.querySelector(".stage");
  const finger = (type, id, primary) => stage.dispatchEvent(new PointerEvent(type, { pointerId: id, isPrimary: primary, clientX: px, clientY: py, bubbles: true, cancelable: true, pointerType: "touch" }));
  Element.prototype.setPointerCapture = () => {};
  finger("pointerdown", 1, true);
  finger("pointerdown", 2, false);
  finger("pointerup", 2, false);
  finger("pointerup", 1, true);
}, [x, y]);
check(Object.keys(await marks()).length === 0 && (await chosen()) === "head", "two fingers leave no mark");

// The figure: each point a finger's place, apart from the others; for a left-hander it is turned round.
const all = await page.evaluate(async () => {
  const { asked, VIEWS } = await import("/bay/catalogue.js");
  return [...new Set(VIEWS.flatMap((kind) => Object.values(asked(kind))).flat()), "stick-0-0", "stick-0-1", "stick-1-0", "stick-1-1", "target"];
});
const middles = async () => Object.fromEntries(await page.locator(".figure button").evaluateAll((all) => all.map((node) => [node.dataset.point, node.getBoundingClientRect().x])));
await fresh({}, all);
await targets(page, "figure");
const clash = await page.locator(".figure button").evaluateAll((all) => all.map((node) => node.getBoundingClientRect()).flatMap((one, i, boxes) =>
  boxes.slice(i + 1).filter((two) => one.left < two.right - 1 && two.left < one.right - 1 && one.top < two.bottom - 1 && two.top < one.bottom - 1)).length);
check(clash === 0, `${all.length} points on the figure, none on another`);
const right = await middles();
await fresh({}, all, "left");
const left = await middles();
check(right.lead_shoulder > right.trail_shoulder && left.lead_shoulder < left.trail_shoulder, "a left-hander's figure is turned round");

// Closer: the part round what is known is shown large, and a tap still lands where it is.
await fresh({ head: { u: 600, v: 150 }, neck: { u: 640, v: 190 } });
const before = await box();
await act("toggle");
const after = await box();
const stage = await page.locator(".stage").boundingBox();
check(Math.abs(after.width / before.width - 4) < 0.01, "closer is four times as large at the most");
const shown = await spot(620, 170);
check(shown[0] > stage.x && shown[0] < stage.x + stage.width && shown[1] > stage.y && shown[1] < stage.y + stage.height, "round the marks that are known");
check(after.x <= stage.x + 1 && after.y <= stage.y + 1 && after.x + after.width >= stage.x + stage.width - 1 && after.y + after.height >= stage.y + stage.height - 1, "and no edge of the picture is left behind");
await tap(620, 170);
check(near((await marks()).grip, 620, 170), "a tap lands where it is");
await fresh({ head: { u: 100, v: 100 }, neck: { u: 500, v: 500 } });
await act("toggle");
const [seenA, seenB] = [await spot(100, 100), await spot(500, 500)];
const whole = await page.locator(".stage").boundingBox();
check([seenA, seenB].every(([px, py]) => px > whole.x && px < whole.x + whole.width && py > whole.y && py < whole.y + whole.height), "but never so close that what is known goes out of view");
const drawn = await page.locator(".mark.on circle, .mark circle.over").first().evaluate((node) => node.getBoundingClientRect().width);
check(drawn > 12 && drawn < 22, `marks keep their size on the screen (${drawn.toFixed(0)} px)`);
quiet(page, "marking");

await chromium.close();
await house.end();
finish("marking");
