// Requests to the server: JSON in and out, problems as exceptions, keys that make a resend harmless.

import { forgetLists } from "./storage.js";

const DEVICE = "leadside.device";
const DEVICE_ID = "leadside.device.id";
const LEAVING = "leadside.leaving"; // the account whose sign-out the server has not heard of yet
const UNKNOWN = "?";
const LEAVE_MS = 4000; // so long a sign-out may take before it is put off

/** A refusal of the server (RFC 9457), or a link that is down (status 0, slug "offline"). */
export class Problem extends Error {
  constructor(status, slug, detail, path, retryAfter, conflicts) {
    super(detail);
    this.status = status;
    this.slug = slug;
    this.path = path;
    this.retryAfter = retryAfter;
    this.conflicts = conflicts; // of a fix
  }
}

export const newKey = () => crypto.randomUUID();

/** The token of an enrolled tablet; it goes with a sign-in and nothing else. */
export const device = {
  token: () => localStorage.getItem(DEVICE),
  id: () => localStorage.getItem(DEVICE_ID),
  enrol: (token, id) => {
    localStorage.setItem(DEVICE, token);
    localStorage.setItem(DEVICE_ID, id);
  },
  forget: () => [DEVICE, DEVICE_ID].forEach((name) => localStorage.removeItem(name)),
};

let account = null;
let prove = null;

/** What asks for a proof of who is here when the server wants one: a function that resolves to whether it was given. */
export const proveBy = (ask) => { prove = ask; };

/** From here on every request says for whom this page speaks: the server refuses it when another tab has meanwhile signed in
 * as somebody else, and the page begins anew as theirs. */
export const speakFor = (id) => { account = id; };

function headersOf({ body, type, key, etag, withDevice, as = account }) {
  const headers = {};
  if (body !== undefined) headers["Content-Type"] = type ?? "application/json";
  if (key) headers["Idempotency-Key"] = key;
  if (etag) headers["If-Match"] = etag;
  if (as && !withDevice) headers["X-Leadside-Account"] = as;
  if (withDevice && device.token()) headers["X-Leadside-Device"] = device.token();
  return headers;
}

async function problemOf(response) {
  let data = {};
  try {
    data = await response.json();
  } catch {
    // not a problem document: a proxy in between, perhaps
  }
  const slug = String(data.type ?? "").split(":").pop() || "unknown";
  const wait = Number(response.headers.get("Retry-After")) || undefined;
  return new Problem(response.status, slug, data.detail ?? response.statusText, data.path, wait, data.conflicts);
}

/** The page of whoever is signed in now, at its first room. */
export function beginAnew() {
  history.replaceState(null, "", location.pathname);
  location.reload();
}

/** {data, etag, next, replayed}: data is null for an empty answer; next is the address of a list's next page. A sign-out that the
 * server has not heard of goes first; what needs a proof of who asks is asked for again once that was given. */
export async function call(method, path, options = {}) {
  if (leaving()) await signOutNow();
  try {
    return await request(method, path, options);
  } catch (problem) {
    if (problem.slug === "not-signed-in") await forgetLists().catch(() => {});
    if (problem.slug === "other-account") beginAnew();
    if (problem.slug !== "confirm-needed") throw problem;
    if (!(await prove?.())) throw problem;
    return request(method, path, options);
  }
}

async function request(method, path, options) {
  const { body, type } = options;
  let response;
  try {
    response = await fetch(path, {
      method,
      headers: headersOf(options),
      body: body === undefined ? undefined : type ? body : JSON.stringify(body),
      credentials: "same-origin",
      cache: "no-store",
      signal: options.signal,
    });
  } catch (cause) {
    if (cause.name === "AbortError") throw cause; // and a time that is up is a link that is down
    throw new Problem(0, "offline", "");
  }
  if (!response.ok) throw await problemOf(response);
  const link = /<([^>]+)>;\s*rel="next"/.exec(response.headers.get("Link") ?? "");
  const json = (response.headers.get("Content-Type") ?? "").includes("json");
  return {
    data: response.status === 204 || !json ? null : await response.json(),
    etag: response.headers.get("ETag"),
    next: link ? link[1] : null,
    replayed: response.headers.get("Idempotency-Replayed") === "true",
  };
}

const BUSY_TIMES = 3; // so often a question is asked again that the server was too busy for
const BUSY_S = 10; // and waited for at most so long each time

/** What a long look at the club takes its turn for is asked for again by itself, as the server says when. */
export async function get(path, options) {
  for (let times = 1; ; times++) {
    try {
      return (await call("GET", path, options)).data;
    } catch (problem) {
      if (problem.slug !== "busy" || times > BUSY_TIMES) throw problem;
      await new Promise((again) => setTimeout(again, 1000 * Math.min(problem.retryAfter ?? 1, BUSY_S)));
    }
  }
}

/** Every page of a list, as one array of the member `name`. */
export async function all(path, name) {
  const items = [];
  for (let next = path; next; ) {
    const page = await call("GET", next);
    items.push(...page.data[name]);
    next = page.next;
  }
  return items;
}

/** On a tablet that is no longer enrolled its token is forgotten, and the browser signs in like any other. */
export async function signIn(name, password, code) {
  const body = { sign_in: name, password, cookie: true, ...(code ? { code } : {}) };
  const ask = async () => (await call("POST", "/v1/sign-in", { body, withDevice: true })).data;
  try {
    return await ask();
  } catch (problem) {
    if (problem.slug !== "device-unknown") throw problem;
    device.forget();
    return ask();
  }
}

// ---- signing out ----

/** Whether somebody has left here and the server has not heard of it yet. */
export const leaving = () => localStorage.getItem(LEAVING);

let going = null;

/** Tells the server; the account is named, so that nobody else's session ends by it. */
async function signOutOnce() {
  const who = leaving();
  await forgetLists().catch(() => {});
  try {
    await request("POST", "/v1/sign-out", { body: {}, as: who === UNKNOWN ? null : who, signal: AbortSignal.timeout(LEAVE_MS) });
  } catch (problem) {
    if (problem.slug !== "not-signed-in" && problem.slug !== "other-account") throw problem; // else that session is over
  }
  if (leaving() === who) localStorage.removeItem(LEAVING);
}

/** Rejects while the server can't be told. */
export function signOutNow() {
  going ??= signOutOnce().finally(() => { going = null; });
  return going;
}

/** Leaves: at once as far as this device goes, and on the server as soon as it can be told. id: whose session it is. */
export async function signOut(id) {
  localStorage.setItem(LEAVING, id ?? UNKNOWN);
  account = null;
  await signOutNow().catch(() => {});
}

/** Where a role's day begins. */
export const placeOf = (role) => ({ head: "/desk.html", coach: "/bay.html" })[role] ?? "/home.html";
