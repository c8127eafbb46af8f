// Requests to the server: JSON in and out, problems as exceptions, keys that make a resend harmless.

const DEVICE = "leadside.device";

/** A refusal of the server (RFC 9457), or a link that is down (status 0, slug "offline"). */
export class Problem extends Error {
  constructor(status, slug, detail, path, retryAfter) {
    super(detail);
    this.status = status;
    this.slug = slug;
    this.path = path;
    this.retryAfter = retryAfter;
  }
}

export const newKey = () => crypto.randomUUID();

/** The token of an enrolled tablet; it goes with a sign-in and nothing else. */
export const device = {
  token: () => localStorage.getItem(DEVICE),
  enrol: (token) => localStorage.setItem(DEVICE, token),
  forget: () => localStorage.removeItem(DEVICE),
};

function headersOf({ body, type, key, etag, withDevice }) {
  const headers = {};
  if (body !== undefined) headers["Content-Type"] = type ?? "application/json";
  if (key) headers["Idempotency-Key"] = key;
  if (etag) headers["If-Match"] = etag;
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
  return new Problem(response.status, slug, data.detail ?? response.statusText, data.path, wait);
}

/** {data, etag, next, replayed}: data is null for an empty answer; next is the address of a list's next page. What needs a
 * proof of who asks is asked for again once that was given. */
export async function call(method, path, options = {}) {
  try {
    return await send(method, path, options);
  } catch (problem) {
    if (problem.slug !== "confirm-needed") throw problem;
    const { confirmIt } = await import("./confirm.js");
    if (!(await confirmIt())) throw problem;
    return send(method, path, options);
  }
}

async function send(method, path, options) {
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
    if (cause.name === "AbortError") throw cause;
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

export const get = async (path, options) => (await call("GET", path, options)).data;

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

export async function signIn(name, password, code) {
  const body = { sign_in: name, password, cookie: true, ...(code ? { code } : {}) };
  return (await call("POST", "/v1/sign-in", { body, withDevice: true })).data;
}

export const signOut = () => call("POST", "/v1/sign-out", { body: {} });

/** Where a role's day begins. */
export const placeOf = (role) => ({ head: "/desk.html", coach: "/bay.html" })[role] ?? "/home.html";
