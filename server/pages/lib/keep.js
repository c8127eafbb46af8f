// What must survive a closed browser and a range without network: drafts with their stills and films, the outbox, the students last seen.

const NAME = "leadside";
const VERSION = 2;
const STORES = ["drafts", "stills", "films", "outbox", "lists"];

let opened;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, VERSION);
    asked.onupgradeneeded = () => STORES.filter((store) => !asked.result.objectStoreNames.contains(store))
      .forEach((store) => asked.result.createObjectStore(store, { keyPath: "id" }));
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

/** Runs work on one store; done when it is on the device. */
async function within(store, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability: "strict" });
    const request = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

export const put = (store, item) => within(store, "readwrite", (s) => s.put(item));
export const take = (store, id) => within(store, "readonly", (s) => s.get(id));
export const list = (store) => within(store, "readonly", (s) => s.getAll());
export const drop = (store, id) => within(store, "readwrite", (s) => s.delete(id));
