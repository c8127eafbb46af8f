// One browser, several tabs: what only one of them may do at a time, and what one tells the others.

const GIVE_MS = 1500; // so long a tab has to give something up before it is taken
const FREE_MS = 400; // and so long a page that was just left may take to be gone

const channel = typeof BroadcastChannel === "function" ? new BroadcastChannel("leadside") : null;
const listeners = new Map();

channel?.addEventListener("message", ({ data }) => listeners.get(data.kind)?.forEach((listener) => listener(data)));

/** To the other tabs; data: what can be cloned. */
export const tellTabs = (kind, data = {}) => channel?.postMessage({ ...data, kind });

/** Returns how to stop listening. */
export function onTabs(kind, listener) {
  if (!listeners.has(kind)) listeners.set(kind, new Set());
  listeners.get(kind).add(listener);
  return () => listeners.get(kind).delete(listener);
}

/** Runs work while no other tab runs work of that name. */
export const alone = (name, work) => (navigator.locks ? navigator.locks.request(`leadside-${name}`, work) : work());

/** Resolves to how to let go; to null when it can't be had. */
function grasp(name, options, lost) {
  if (!navigator.locks) return Promise.resolve(() => {});
  return new Promise((resolve) => {
    let letGo;
    const held = new Promise((done) => { letGo = done; });
    navigator.locks.request(`leadside-${name}`, options, (lock) => {
      if (!lock) {
        resolve(null);
        return undefined;
      }
      resolve(letGo);
      return held;
    }).catch(() => { // not had in time, or taken away
      resolve(null);
      lost();
    });
  });
}

/** Holds what one tab may have at a time: {letGo} until it lets go, or until another tab asks for it and lost() is called; null
 * when another tab has it. force: ask for it, and take it where the other does not answer. */
export async function hold(name, lost, { force = false } = {}) {
  let here = true;
  let letGo = null;
  let quiet = () => {};
  const end = (told) => {
    if (!here) return;
    here = false;
    quiet();
    letGo?.();
    if (told) lost();
  };
  const ended = () => { if (letGo) end(true); };
  if (force) {
    tellTabs("give", { name });
    letGo = await grasp(name, { signal: AbortSignal.timeout(GIVE_MS) }, ended) ?? await grasp(name, { steal: true }, ended);
  } else letGo = await grasp(name, { signal: AbortSignal.timeout(FREE_MS) }, ended);
  if (!letGo) return null;
  quiet = onTabs("give", (asked) => { if (asked.name === name) end(true); });
  return { letGo: () => end(false) };
}
