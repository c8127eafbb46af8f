// Marking one still: what a tap means beside own marks and guesses, dragging, a second finger, undo, skip, the closer look.
import { browser, check, club, finish, open, quiet, signIn, tablet } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");

/** A marker alone on the page: a picture of 800 x 600 with four points to mark. */
async function fresh(marks) {
  await page.evaluate(async (given) => {
    const { Marker } = await import("/bay/marking/marker.js");
    const canvas = document.createElement("canvas");
    canvas.width = 800;
    canvas.height = 600;
    canvas.getContext("2d").fillRect(0, 0, 800, 600);
    const picture = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
    window.marks = given;
    const targets = ["a", "b", "c", "d"].map((id) => ({ id, label: `point ${id}` }));
    window.marker = new Marker({
      picture, width: 800, height: 600, targets, read: (id) => window.marks[id] ?? null,
      write: (id, mark) => { if (mark) window.marks[id] = mark; else delete window.marks[id]; },
      settled: () => { window.kept = structuredClone(window.marks); },
      look: { close: false, around: () => Object.values(window.marks) },
    });
    document.querySelector("#room").replaceChildren(window.marker.node(null, null));
    await document.querySelector(".stage img").decode();
  }, marks);
  await page.waitForTimeout(50);
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
const near = (mark, u, v, within = 1.5) => mark && Math.hypot(mark.u - u, mark.v - v) <= within;

await fresh({});
check((await page.textContent(".asked")) === "Tap: point a", "the first point is asked for by its name");
await tap(100, 100);
await tap(200, 100);
check(near((await marks()).a, 100, 100) && near((await marks()).b, 200, 100) && (await chosen()) === "c", "one tap each, and the next is asked for");
await tap(205, 100); // close to b, but c is asked for
check(near((await marks()).c, 205, 100) && near((await marks()).b, 200, 100), "a point may lie close to another");
await tap(400, 300);
check(near((await marks()).d, 400, 300), "the last point");
check((await page.textContent(".asked")).includes("All of this picture"), "and then it says that all is marked");
await fresh({});
await page.locator("[data-key=skip]").tap();
check((await chosen()) === "b", "a point can be skipped");
await tap(200, 100);
await tap(210, 110);
await tap(400, 300);
check((await page.textContent(".asked")).includes("All of this picture") && !(await marks()).a, "and is not asked for again");
await tap(100, 100);
check(!(await marks()).a && near((await marks()).d, 400, 300), "a stray touch then changes nothing");
await page.locator(".targets button", { hasText: "point a" }).tap();
await tap(100, 100);
check(near((await marks()).a, 100, 100), "until it is asked for by its name");
const image = await box();
const scale = 800 / image.width;
await tap(400, 300, 20);
check(near((await marks()).d, 400, 300), "a touch beside a mark that stands does not move it");
const at = await spot(100, 100);
await page.mouse.move(...at);
await page.mouse.down();
await page.mouse.move(at[0] + 30, at[1] + 12, { steps: 3 });
check(await page.locator(".lens").isVisible(), "while dragging, the magnifier shows");
check(!(await kept()), "and nothing is kept yet");
await page.mouse.up();
check(await kept(), "a drag is kept when it ends");
check(near((await marks()).a, 100 + 30 * scale, 100 + 12 * scale) && !(await page.locator(".lens").isVisible()), "a mark is dragged by what the finger moves");
await page.locator("[data-key=undo]").tap();
check(near((await marks()).a, 100, 100), "undo brings it back");
await page.locator("button", { hasText: "Remove mark" }).tap();
check(!(await marks()).a && (await page.textContent(".asked")) === "Tap: point a", "a mark is taken away, and asked for again");

const guesses = () => ({ a: { u: 300, v: 200, sd: 25, found: true }, b: { u: 500, v: 200, sd: 25, found: true } });
await fresh(guesses());
check((await page.textContent(".asked")).startsWith("Is this the point a?"), "a guess is asked about");
await tap(300, 200, 4);
check(near((await marks()).a, 300, 200, 0) && !(await marks()).a.found && (await chosen()) === "b", "a tap on it accepts it where it is, and the next guess is asked about");
await tap(500, 200, 24);
check(near((await marks()).b, 500 + 24 * scale, 200) && !(await marks()).b.found, "a tap beside it puts it right");
await page.locator("[data-key=undo]").tap();
check((await marks()).b.found === true, "undo makes it a guess again");
await fresh(guesses());
await tap(500, 200, 3);
check(near((await marks()).a, 500 + 3 * scale, 200) && (await marks()).b.found, "a tap serves the point that is asked for, even on another's guess");
await page.locator(".targets button", { hasText: "point c" }).tap();
await tap(500, 200, 3);
check(near((await marks()).c, 500 + 3 * scale, 200) && (await marks()).b.found, "and the one asked for by its name");

// A finger that pulls: the mark it began on is meant, though another point is asked for.
await fresh({ a: { u: 300, v: 200 } });
const on = await spot(300, 200, 3);
await page.mouse.move(...on);
await page.mouse.down();
check((await marks()).b !== undefined, "a touch beside a mark sets the point that is asked for");
await page.mouse.move(on[0] + 40, on[1], { steps: 5 });
await page.mouse.up();
check(near((await marks()).a, 300 + 40 * scale, 200, 3) && !(await marks()).b && (await chosen()) === "b", "unless the finger moves: then it pulls that mark, and the point is asked for again");

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
check(Object.keys(await marks()).length === 0 && (await chosen()) === "a", "two fingers leave no mark");

// Closer: the part round what is known is shown large, and a tap still lands where it is.
await fresh({ a: { u: 600, v: 150 }, b: { u: 640, v: 190 } });
const before = await box();
await page.locator("[data-key=closer]").tap();
const after = await box();
const stage = await page.locator(".stage").boundingBox();
check(Math.abs(after.width / before.width - 2.4) < 0.01, "closer is 2.4 times as large");
const shown = await spot(620, 170);
check(shown[0] > stage.x && shown[0] < stage.x + stage.width && shown[1] > stage.y && shown[1] < stage.y + stage.height, "round the marks that are known");
check(after.x <= stage.x + 1 && after.y <= stage.y + 1 && after.x + after.width >= stage.x + stage.width - 1 && after.y + after.height >= stage.y + stage.height - 1, "and no edge of the picture is left behind");
await tap(620, 170);
check(near((await marks()).c, 620, 170), "a tap lands where it is");
await fresh({ a: { u: 100, v: 100 }, b: { u: 500, v: 500 } });
const whole = await box();
await page.locator("[data-key=closer]").tap();
const wider = (await box()).width / whole.width;
check(wider >= 1 && wider < 1.2, `but never so close that what is known goes out of view (${wider.toFixed(2)} times)`);
const drawn = await page.locator(".mark.on circle, .mark circle").first().evaluate((node) => node.getBoundingClientRect().width);
check(drawn > 12 && drawn < 22, `marks keep their size on the screen (${drawn.toFixed(0)} px)`);
quiet(page, "marking");

await chromium.close();
await house.end();
finish("marking");
