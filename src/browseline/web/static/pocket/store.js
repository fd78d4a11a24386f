// The phone's own store (IndexedDB): entries that were written here, and what the phone carries.
// An entry is on the disk when keep() is done: the page says "kept" only then.

/** Where the farm's pages begin: this file lies at <base>/static/pocket/store.js. */
export const BASE = new URL("../../", import.meta.url).pathname;
const NAME = `browseline ${BASE}`;
const STORES = ["entries", "facts"];

/**
 * @typedef {object} Entry
 * @property {string} id
 * @property {object} event  the entry as the record keeps it
 * @property {number} at  when it was written, milliseconds since 1970
 * @property {"unsent"|"kept"|"refused"} state
 * @property {string} why  why it was refused
 * @property {number|null} events  how many entries the record held once this was in it
 */

/** Open the store whatever its version: a newer page may have made it, an older one may have left it. */
function opened(version) {
  return new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, version);
    asked.onupgradeneeded = () => {
      for (const name of STORES) {
        if (!asked.result.objectStoreNames.contains(name)) asked.result.createObjectStore(name);
      }
    };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

let open = null;

async function database() {
  if (open) return open;
  let found = await opened(undefined);
  if (STORES.some((name) => !found.objectStoreNames.contains(name))) {
    const next = found.version + 1;
    found.close();
    found = await opened(next);
  }
  found.onversionchange = () => {
    found.close();
    open = null;
  };
  open = found;
  return found;
}

/** Do work in one transaction; the promise is kept once all of it is on the disk. */
async function transaction(stores, mode, work) {
  const db = await database();
  return new Promise((done, failed) => {
    const running = db.transaction(stores, mode, { durability: "strict" });
    let result;
    running.oncomplete = () => done(result);
    running.onerror = () => failed(running.error);
    running.onabort = () => failed(running.error);
    work(running, (found) => {
      result = found;
    });
  });
}

/** Keep an entry as unsent. @param {object} event */
export function keep(event, at) {
  const entry = { id: event.id, event, at, state: "unsent", why: "", events: null };
  return transaction(["entries"], "readwrite", (running) => {
    running.objectStore("entries").add(entry, event.id);
  });
}

/** @returns {Promise<Entry[]>} every entry on this phone, in the order of their ids */
export function entries() {
  return transaction(["entries"], "readonly", (running, give) => {
    const asked = running.objectStore("entries").getAll();
    asked.onsuccess = () => give(asked.result);
  });
}

/**
 * Change entries, each by what a function makes of it; null forgets one that the record holds.
 * @param {(entry: Entry) => Entry|null} change
 */
export function change(ids, change) {
  return transaction(["entries"], "readwrite", (running) => {
    const held = running.objectStore("entries");
    for (const id of ids) {
      const asked = held.get(id);
      asked.onsuccess = () => {
        if (!asked.result) return;
        const next = change(asked.result);
        if (next) held.put(next, id);
        else if (asked.result.state === "kept") held.delete(id);
      };
    }
  });
}

/** @returns {Promise<any>} a fact by its name, or undefined */
export function fact(name) {
  return transaction(["facts"], "readonly", (running, give) => {
    const asked = running.objectStore("facts").get(name);
    asked.onsuccess = () => give(asked.result);
  });
}

/**
 * Entries and facts as they stand together, in one reading.
 * @param {string[]} names
 * @returns {Promise<{entries: Entry[], [fact: string]: any}>}
 */
export function all(names) {
  return transaction(STORES, "readonly", (running, give) => {
    const found = {};
    const asked = running.objectStore("entries").getAll();
    asked.onsuccess = () => {
      found.entries = asked.result;
    };
    for (const name of names) {
      const one = running.objectStore("facts").get(name);
      one.onsuccess = () => {
        found[name] = one.result;
      };
    }
    give(found);
  });
}

/** Keep a fact under its name; undefined forgets it. */
export function setFact(name, value) {
  return transaction(["facts"], "readwrite", (running) => {
    const held = running.objectStore("facts");
    if (value === undefined) held.delete(name);
    else held.put(value, name);
  });
}
