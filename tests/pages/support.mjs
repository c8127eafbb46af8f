// What the page tests share: a demo club on its own port, Debian's chromium, checks that are counted, and, on
// request, screenshots that are kept under the build folder for a person to look at.
import { execFileSync, spawn } from "node:child_process";
import { randomUUID } from "node:crypto";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { chromium } from "playwright-core";

export const build = process.argv[2] ?? "build";
const program = join(build, "leadside");
const made = join(tmpdir(), "leadside-pages-");
export const shots = join(build, "screenshots");

export const tablet = { width: 1180, height: 820 };
export const phone = { width: 390, height: 844 };

const count = { passed: 0, failed: 0, skipped: 0 };

export function check(good, text) {
  count[good ? "passed" : "failed"]++;
  console.log((good ? "ok      " : "FAILED  ") + text);
}

export function skip(text) {
  count.skipped++;
  console.log(`skipped ${text}`);
}

/** Prints the totals and ends the program. */
export function finish(name) {
  console.log(`${name}: ${count.passed} passed, ${count.failed} failed, ${count.skipped} skipped`);
  process.exit(count.failed ? 1 : 0);
}

const opened = [];

/** What every page showed and had asked for when a suite broke off: a wait that ends in nothing says little by itself. */
process.on("uncaughtException", async (error) => {
  console.log(`FAILED  broke off: ${error.stack ?? error}`);
  for (const page of opened.filter((one) => !one.isClosed())) {
    const seen = await page.evaluate(() => {
      const fields = [...document.querySelectorAll("input")].map((input) => `${input.id}: ${input.value.length} long`);
      return `${document.body.innerText.slice(0, 600)} [${document.activeElement.id}; ${fields.join(", ")}]`;
    }).catch((problem) => problem.message);
    console.log(`  ${page.url()} showed: ${seen.replace(/\s+/g, " ")}\n  it had asked for: ${page.asked.slice(-16).join("; ")}`);
    page.complaints.forEach((complaint) => console.log(`  ${complaint}`));
  }
  process.exit(1);
});

const freePort = () =>
  new Promise((resolve) => {
    const server = createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });

/** A club of its own: {origin, password, data, start(), stop(signal), call()}. */
export async function club(options = []) {
  const folder = mkdtempSync(made);
  const data = join(folder, "club");
  const said = execFileSync(program, ["demo", "--data", data], { encoding: "utf8" });
  const password = /password: (\S+)/.exec(said)[1];
  const port = await freePort();
  const origin = `http://127.0.0.1:${port}`;
  let server;
  process.on("exit", () => { // a suite that broke off leaves nothing behind
    server?.kill("SIGKILL");
    rmSync(folder, { recursive: true, force: true });
  });
  const start = async () => {
    server = spawn(program, ["serve", "--data", data, "--listen", `127.0.0.1:${port}`, ...options], { stdio: "ignore" });
    for (let i = 0; i < 200; i++) {
      try {
        if ((await fetch(`${origin}/readyz`)).ok) return;
      } catch {
        // not yet
      }
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error("the server does not get ready");
  };
  const stop = (signal = "SIGTERM") =>
    new Promise((resolve) => {
      server.once("exit", resolve);
      server.kill(signal);
    });
  const end = async () => {
    await stop();
    rmSync(folder, { recursive: true, force: true });
  };
  /** A request as a program makes it, with a bearer token. */
  const call = async (method, path, token, body, headers = {}) => {
    const response = await fetch(origin + path, {
      method,
      headers: {
        ...(token ? { Authorization: `Bearer ${token}` } : {}),
        ...(body === undefined ? {} : { "Content-Type": "application/json" }),
        ...(method === "POST" ? { "Idempotency-Key": randomUUID() } : {}),
        ...headers,
      },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
    const text = await response.text();
    return { status: response.status, data: text ? JSON.parse(text) : null, etag: response.headers.get("ETag") };
  };
  const token = async (name) => (await call("POST", "/v1/sign-in", null, { sign_in: name, password })).data.token;
  await start();
  return { origin, password, data, start, stop, end, call, token };
}

/** Chromium without a home: nothing is fetched from elsewhere, nothing is kept. */
export async function browser(options = {}) {
  const args = ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-sandbox", ...(options.args ?? [])];
  return chromium.launch({ executablePath: process.env.LEADSIDE_CHROMIUM ?? "/usr/bin/chromium-headless-shell", headless: true, args });
}

/** A page whose complaints are counted: errors of script, and any request that leaves the server. */
export async function open(from, origin, { size = tablet, dark = false, touch = false, locale = "en-GB", workers = "allow" } = {}) {
  const context = await from.newContext({ viewport: size, colorScheme: dark ? "dark" : "light", hasTouch: touch, locale, serviceWorkers: workers });
  const page = await context.newPage();
  page.complaints = [];
  page.on("pageerror", (error) => page.complaints.push(`script: ${error.message}`));
  page.on("console", (message) => {
    if (message.type() === "error" && !/status of (4|5)\d\d/.test(message.text())) page.complaints.push(message.text());
  });
  page.asked = [];
  page.underway = new Set();
  page.on("request", (request) => { if (!request.url().endsWith("/v1/events")) page.underway.add(request); }); // a stream has no end
  for (const end of ["requestfinished", "requestfailed"]) page.on(end, (request) => page.underway.delete(request));
  let arriving = null; // a new document: what the one before asked for at the last moment has no end that is told
  page.on("request", (request) => { if (request.isNavigationRequest() && request.frame() === page.mainFrame()) arriving = request; });
  page.on("framenavigated", (frame) => {
    if (frame !== page.mainFrame() || !arriving) return;
    page.underway = new Set([arriving].filter((request) => page.underway.has(request)));
    arriving = null;
  });
  opened.push(page);
  const note = (request, answer) => page.asked.push(`${request.method()} ${request.url().slice(origin.length)} ${answer}`);
  page.on("request", (request) => note(request, "sent"));
  page.on("response", (response) => note(response.request(), response.status()));
  page.on("requestfailed", (request) => note(request, request.failure()?.errorText ?? "failed"));
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(origin) && !url.startsWith("blob:") && !url.startsWith("data:")) page.complaints.push(`left for ${url}`);
  });
  return page;
}

/** Waits until the page asks for nothing any more, for half a second. */
export async function settled(page) {
  const end = Date.now() + 30000;
  for (let still = 0; still < 10; still = page.underway.size === 0 ? still + 1 : 0) {
    if (Date.now() > end) throw new Error(`the page asks on: ${[...page.underway].map((request) => request.url()).join(" ")}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

export async function signIn(page, origin, name, password) {
  await page.goto(origin);
  await page.waitForSelector("#language option", { state: "attached" }); // the page's own script has the form
  await page.fill("#name", name);
  await page.fill("#password", password);
  await page.press("#password", "Enter"); // a click aims at where the button stood
}

/** Keeps what the page looks like, light and dark, where somebody wants to look (LEADSIDE_SCREENSHOTS is set). */
export async function keep(page, name) {
  if (!process.env.LEADSIDE_SCREENSHOTS) return;
  mkdirSync(shots, { recursive: true });
  for (const scheme of ["light", "dark"]) {
    await page.emulateMedia({ colorScheme: scheme });
    await page.screenshot({ path: join(shots, `${name}-${scheme}.png`), fullPage: true });
  }
  await page.emulateMedia({ colorScheme: "light" });
}

const axe = readFileSync(new URL("./node_modules/axe-core/axe.min.js", import.meta.url), "utf8");

/** Accessibility rules on the page as it stands; contrast at the level for sunlight (7 : 1). */
export async function accessible(page, name) {
  await page.evaluate(() => document.fonts.ready);
  await page.evaluate(axe); // as the debugger: the page's own policy would refuse a script tag
  const found = await page.evaluate(async () => {
    const result = await window.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag2aaa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    });
    return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")}`);
  });
  check(found.length === 0, `${name}: accessibility rules hold${found.length ? ` -- ${found.join(" | ")}` : ""}`);
  await spoken(page, name);
}

/** Nothing a reader sees is a name of the interface ("spine_tilt", "student.create"). */
async function spoken(page, name) {
  const text = await page.evaluate(() => document.body.innerText);
  const raw = text.match(/\b[a-z]+(_[a-z]+)+\b|^[a-z]+\.[a-z_]+$/gm) ?? [];
  check(raw.length === 0, `${name}: no raw identifier is shown${raw.length ? ` -- ${raw.slice(0, 5).join(", ")}` : ""}`);
}

/** Every target that can be pressed is at least 44 px either way. */
export async function targets(page, name) {
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("button, .button, select, input:not([type=hidden]), summary")]
      .filter((node) => node.offsetParent !== null && !node.closest("label.tick, td label"))
      .map((node) => ({ text: (node.textContent || node.id || node.type).trim().slice(0, 30), box: node.getBoundingClientRect() }))
      .filter(({ box }) => box.width < 43.5 || box.height < 43.5)
      .map(({ text, box }) => `${text} ${Math.round(box.width)}x${Math.round(box.height)}`),
  );
  check(small.length === 0, `${name}: targets of 44 px${small.length ? ` -- ${small.slice(0, 5).join(", ")}` : ""}`);
}

export function quiet(page, name) {
  check(page.complaints.length === 0, `${name}: no complaint, nothing from elsewhere${page.complaints.length ? ` -- ${page.complaints.join(" | ")}` : ""}`);
}

