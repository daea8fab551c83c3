// What a phone holds: entries, pictures and spoken notes until the farm has them, and what it carries of the farm.
// Pages and the service worker share this file.
"use strict";

self.Field = self.Field || {};

Field.store = (() => {
  const NAME = "gablekeep-field";
  const STORES = { entries: "id", photos: "key", voices: "key", bundle: "base", settings: "name", sent: "id" };
  const QUEUES = ["entries", "photos", "voices"];
  let opening = null;

  function open() {
    opening = opening || new Promise((resolve, reject) => {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => {
        for (const [store, keyPath] of Object.entries(STORES)) request.result.createObjectStore(store, { keyPath });
      };
      request.onsuccess = () => {
        request.result.onversionchange = () => { request.result.close(); opening = null; };
        request.result.onclose = () => { opening = null; };
        resolve(request.result);
      };
      request.onerror = () => { opening = null; reject(request.error); };
    });
    return opening;
  }

  // Run `work` in one transaction; what its request brings is returned once all of it lies on the disk.
  async function run(names, mode, work) {
    const base = await open();
    return new Promise((resolve, reject) => {
      const change = base.transaction(names, mode, { durability: "strict" });
      const request = work(change);
      change.oncomplete = () => {
        if (mode === "readwrite" && [].concat(names).some((name) => QUEUES.includes(name))) changed();
        resolve(request instanceof IDBRequest ? request.result : request);
      };
      change.onabort = change.onerror = () => reject(change.error || (request && request.error));
    });
  }

  const channel = "BroadcastChannel" in self ? new BroadcastChannel(NAME) : null;
  const listeners = [];
  if (channel) channel.onmessage = () => listeners.forEach((listener) => listener());

  function changed() {
    listeners.forEach((listener) => listener());
    if (channel) channel.postMessage("changed");
  }

  const get = (store, key) => run(store, "readonly", (all) => all.objectStore(store).get(key));
  const all = (store) => run(store, "readonly", (change) => change.objectStore(store).getAll());
  const put = (store, row) => run(store, "readwrite", (change) => change.objectStore(store).put(row));
  const remove = (store, key) => run(store, "readwrite", (change) => change.objectStore(store).delete(key));

  // How much is unsent, and since when: without loading the pictures themselves.
  async function unsent() {
    const entries = await all("entries");
    const more = await run(["photos", "voices"], "readonly", (change) => {
      const keys = ["photos", "voices"].map((name) => change.objectStore(name).getAllKeys());
      return keys;
    });
    const oldest = entries.reduce((first, row) => (row.made_at < first ? row.made_at : first), "9");
    const files = more.reduce((sum, request) => sum + request.result.length, 0);
    return { count: entries.length + files, oldest: oldest === "9" ? null : oldest, entries };
  }

  // At a log-out everything that was loaded goes; what is unsent stays, whoever made it.
  const purge = () => run(["bundle", "sent", "settings"], "readwrite", (change) => {
    for (const name of ["bundle", "sent", "settings"]) change.objectStore(name).clear();
  });

  return { run, get, all, put, remove, unsent, purge, onChange: (listener) => listeners.push(listener) };
})();
