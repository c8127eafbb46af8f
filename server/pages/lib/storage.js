// What must survive a closed browser and a range without network: drafts with their stills and films, the outbox, the lists
// last seen. A tablet is shared: every entry stands under the account that made it, and only that account's are read here.

/** The pages themselves stay on the device, so that they open without a network (worker.js). */
export const keepPages = () => navigator.serviceWorker?.register("/worker.js", { type: "module" }).catch(() => {});

const NAME = "leadside";
const VERSION = 3;
const STORES = ["drafts", "stills", "films", "outbox", "lists"];
const NOBODY = ""; // the owner of work that was kept before entries had one

let opened;
let whose = { account: null, session: null };

/** From here on what is kept is this account's, and only its own is found; lists are one session's. */
export const keepFor = (account, session) => { whose = { account, session }; };
export const keeper = () => whose.account;

/** The device's storage is full, or the browser's share of it. */
export const isFull = (error) => error?.name === "QuotaExceededError";

/** Entries get the owner by whom they are listed: what is there already belongs to nobody known; old lists go. Stills and films are
 * left as they are: they are found by their draft, and a full device could not write them again. */
function upgrade(database, transaction) {
  for (const name of STORES) {
    const store = database.objectStoreNames.contains(name) ? transaction.objectStore(name) : database.createObjectStore(name, { keyPath: "id" });
    if (store.indexNames.contains("owner")) continue;
    store.createIndex("owner", "owner");
    if (name === "lists") store.clear();
    else if (["drafts", "outbox"].includes(name)) store.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) return;
      cursor.update({ ...cursor.value, owner: NOBODY });
      cursor.continue();
    };
  }
}

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => upgrade(asked.result, asked.transaction);
    asked.onblocked = () => window.dispatchEvent(new Event("leadside-blocked")); // by a tab with older pages
    asked.onsuccess = () => {
      asked.result.onversionchange = () => { asked.result.close(); opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => { opened = undefined; reject(asked.error); };
  });
  return opened;
}

/** Runs work on stores; done when it is on the device. work gets a function that gives a store, and may return a request. */
async function within(stores, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(stores, mode, { durability: "strict" });
    const request = work((name) => transaction.objectStore(name));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onabort = () => reject(transaction.error ?? new Error("not kept"));
  });
}

function owned(item) {
  if (!whose.account) throw new Error("nobody to keep it for");
  return { ...item, owner: whose.account };
}

const mine = (item) => item !== undefined && whose.account !== null && item.owner === whose.account;

export const put = (store, item) => putAll([[store, item]]);

/** All of it or nothing: [[store, item], ...]; away: [[store, id], ...] that go at the same time. */
export const putAll = async (items, away = []) => within([...new Set([...items, ...away].map(([store]) => store))], "readwrite", (of) => {
  away.forEach(([store, id]) => of(store).delete(id));
  items.map(([store, item]) => [store, owned(item)]).forEach(([store, item]) => of(store).put(item));
});

export const dropAll = (away) => putAll([], away);

/** Puts what is still there; what was thrown away meanwhile stays away. */
export const replace = (store, item) => within([store], "readwrite", (of) => {
  of(store).getKey(item.id).onsuccess = ({ target: { result: key } }) => { if (key !== undefined) of(store).put(owned(item)); };
});

export async function take(store, id) {
  const item = await within([store], "readonly", (of) => of(store).get(id));
  return mine(item) ? item : undefined;
}

const listOf = (store, owner) => within([store], "readonly", (of) => of(store).index("owner").getAll(owner));
export const list = async (store) => (whose.account === null ? [] : listOf(store, whose.account));

// ---- lists: what the server said last, bound to the session that it said it to ----

export const putList = (id, item) => put("lists", { ...item, id, session: whose.session });

export async function takeList(id) {
  const item = await take("lists", id);
  return item?.session === whose.session ? item : undefined;
}

/** Every list leaves the device but those of one session: names, birth years, what hurts. */
export async function forgetLists(but = null) {
  await within(["lists"], "readwrite", (of) => {
    of("lists").openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) return;
      if (but === null || cursor.value.session !== but) cursor.delete();
      cursor.continue();
    };
  });
}

/** Who was signed in when there was a network last, while that session may still last: {me}; undefined when nobody was. */
export async function lastSession() {
  const kept = await within(["lists"], "readonly", (of) => of("lists").get("me"));
  return kept?.me && Date.parse(kept.me.expires) > Date.now() ? kept : undefined;
}

// ---- work from before entries had an owner ----

export const unclaimed = async () => ({ drafts: await listOf("drafts", NOBODY), outbox: await listOf("outbox", NOBODY) });

/** Whoever is signed in says that these are theirs: [[store, id], ...]. */
export const claim = (items) => within([...new Set(items.map(([store]) => store))], "readwrite", (of) => items.forEach(([store, id]) => {
  of(store).get(id).onsuccess = ({ target: { result: item } }) => { if (item && (item.owner ?? NOBODY) === NOBODY) of(store).put(owned(item)); };
}));
