// What was said and is not yet known to be in the daybook. Each entry has a key
// of its own, made here; the bench keeps an entry once however often it comes.
"use strict";

const queue = (() => {
  const NAME = "inkhorn", STORE = "out";
  let opened = null;
  let spare = []; // where the browser keeps nothing for us

  function open() {
    opened ??= new Promise((resolve) => {
      let request;
      try { request = window.indexedDB.open(NAME, 1); } catch { resolve(null); return; }
      request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "n", autoIncrement: true });
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => resolve(null);
    });
    return opened;
  }

  async function act(mode, work) {
    const db = await open();
    return new Promise((resolve, reject) => {
      const doing = db.transaction(STORE, mode);
      const request = work(doing.objectStore(STORE));
      doing.oncomplete = () => resolve(request.result);
      doing.onerror = doing.onabort = () => reject(doing.error);
    });
  }

  return {
    // crypto.randomUUID is not there on plain HTTP; this is.
    key() {
      const bytes = window.crypto.getRandomValues(new Uint8Array(12));
      return Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
    },
    async all() {
      return (await open()) ? act("readonly", (s) => s.getAll()) : spare.slice();
    },
    async put(item) {
      if (await open()) { item.n = await act("readwrite", (s) => s.add(item)); return item; }
      item.n = spare.push(item);
      return item;
    },
    async change(item) {
      if (await open()) await act("readwrite", (s) => s.put(item));
    },
    async drop(n) {
      if (await open()) await act("readwrite", (s) => s.delete(n));
      spare = spare.filter((item) => item.n !== n);
    },
  };
})();
