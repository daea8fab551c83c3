// What a phone holds: entries, pictures and spoken notes until the farm has them, and what it carries of the farm.
// Below it the line to the farm's computer. Pages and the service worker share this file.
"use strict";

self.Field = self.Field || {};

Field.store = (() => {
  const NAME = "gablekeep-field";
  const STORES = { entries: "id", photos: "key", voices: "key", bytes: "key", bundle: "base", settings: "name", sent: "id" };
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

Field.line = (() => {
  const PATIENCE = 30000; // ms for one answer; pictures get more

  // Ask the farm's computer. Nothing is followed or kept: an answer that is not our JSON is no answer.
  async function ask(url, options = {}, patience = PATIENCE) {
    const stop = new AbortController();
    const timer = setTimeout(() => stop.abort(), patience);
    try {
      const answer = await fetch(url, { credentials: "same-origin", cache: "no-store", redirect: "manual", signal: stop.signal, ...options });
      if (answer.type === "opaqueredirect") return { status: 302, body: null };
      const isJson = (answer.headers.get("Content-Type") || "").includes("json");
      return { status: answer.status, body: isJson ? await answer.json() : null, etag: answer.headers.get("ETag") };
    } catch {
      return { status: 0, body: null };
    } finally {
      clearTimeout(timer);
    }
  }

  function whyNot(answer) {
    if (answer.status === 0) return "offline";
    if (answer.status === 401) return "signin";
    if (answer.status >= 500 || answer.status === 429) return "server";
    if (answer.body === null) return "odd";
    return answer.status === 200 ? "odd" : "refused";
  }

  // One sending: a fresh token, and under whose log-in.
  class Pass {
    constructor(base) {
      this.base = base;
      this.token = "";
      this.person = null;
    }

    // A fresh token before anything is sent: one from before may be of another log-in.
    async enter() {
      const answer = await ask(`${this.base}token/`);
      const is_in = answer.status === 200 && answer.body && answer.body.csrf;
      if (!is_in) return answer;
      this.token = answer.body.csrf;
      this.person = answer.body.person;
      return null;
    }

    async post(path, options, patience) {
      const send = () => ask(`${this.base}${path}`, {
        ...options, method: "POST", headers: { ...options.headers, "X-CSRFToken": this.token },
      }, patience);
      const answer = await send();
      if (answer.status !== 403 || (await this.enter())) return answer;
      return send();
    }

    mine(row) {
      return !row.person || row.person.id === this.who;
    }

    get who() {
      return this.person && typeof this.person === "object" ? this.person.id : this.person;
    }
  }

  return { ask, whyNot, Pass, PATIENCE };
})();
