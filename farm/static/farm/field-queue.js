// How what a phone holds is sent. First an entry is written down, then the network is asked. A row leaves only when
// its own key comes back in an answer; no status, no HTML page and no silence deletes anything.
"use strict";

Field.queue = (() => {
  const { store } = Field;
  const { ask, whyNot, Pass, PATIENCE } = Field.line;
  const MOST = { entries: 50, letters: 100000 }; // in one parcel; the server takes twice as much
  const HOLD = 8000; // ms in which an entry can be taken back before it goes
  const REST = 6 * 3600 * 1000; // ms until what was refused is tried again without being asked for
  let running = null;
  let again = null;

  function newKey() {
    if (crypto.randomUUID) return crypto.randomUUID(); // only where the address is https
    const octets = crypto.getRandomValues(new Uint8Array(16));
    octets[6] = (octets[6] & 15) | 64;
    octets[8] = (octets[8] & 63) | 128;
    const text = Array.from(octets, (octet) => octet.toString(16).padStart(2, "0")).join("");
    return text.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  }

  // Keep an entry. Danger and what cannot be done go at once; all others can be taken back for a moment.
  async function add(base, person, entry) {
    const made = new Date();
    const urgent = entry.kind === "danger" || entry.kind === "cannot" || entry.kind === "details";
    const whole = { id: newKey(), made_at: made.toISOString(), ...entry };
    const row = {
      id: whole.id, base, person: entry.anonymous ? null : person, made_at: whole.made_at, entry: whole,
      hold: urgent ? 0 : made.getTime() + HOLD, tries: 0, why: "new", said: "",
    };
    await store.put("entries", row);
    return row;
  }

  // A picture or a spoken note of an entry; its bytes lie apart, so that lists need not load them.
  async function attach(name, row, { bytes, ...file }) {
    const made_at = new Date().toISOString();
    const kept = { key: newKey(), entry: row.id, base: row.base, person: row.person, made_at, why: "new", said: "", ...file };
    await store.run([name, "bytes"], "readwrite", (change) => {
      change.objectStore("bytes").put({ key: kept.key, bytes });
      change.objectStore(name).put(kept);
    });
    return kept;
  }

  const drop = (name, key) => store.run([name, "bytes"], "readwrite", (change) => {
    change.objectStore("bytes").delete(key);
    change.objectStore(name).delete(key);
  });

  // Take an entry back with all that hangs on it; false once it may have left.
  const undo = (id) => store.run(["entries", "photos", "voices", "bytes"], "readwrite", (change) => {
    const told = { result: false };
    const entries = change.objectStore("entries");
    entries.get(id).onsuccess = (event) => {
      const row = event.target.result;
      if (!row || row.tries) return;
      told.result = true;
      entries.delete(id);
      for (const name of ["photos", "voices"]) {
        change.objectStore(name).openCursor().onsuccess = (found) => {
          const cursor = found.target.result;
          if (!cursor) return;
          if (cursor.value.entry === id) {
            change.objectStore("bytes").delete(cursor.value.key);
            cursor.delete();
          }
          cursor.continue();
        };
      }
      entries.openCursor().onsuccess = (found) => {
        const cursor = found.target.result;
        if (!cursor) return;
        if (cursor.value.entry.parent === id) cursor.delete();
        cursor.continue();
      };
    };
    return told;
  }).then((told) => told.result);

  async function note(name, rows, why, said = "") {
    await store.run(name, "readwrite", (change) => {
      const target = change.objectStore(name);
      for (const row of rows) {
        target.get(row.id || row.key).onsuccess = (event) => {
          const rest = why === "refused" ? Date.now() + REST : 0;
          if (event.target.result) target.put({ ...event.target.result, why, said, rest });
        };
      }
    });
  }

  // Mark what is about to leave, in the same breath in which it is read: what is taken back meanwhile is not sent.
  async function claim(rows) {
    const claimed = [];
    await store.run("entries", "readwrite", (change) => {
      const target = change.objectStore("entries");
      for (const row of rows) {
        target.get(row.id).onsuccess = (event) => {
          const found = event.target.result;
          if (!found) return;
          const next = { ...found, tries: found.tries + 1 };
          target.put(next);
          claimed.push(next);
        };
      }
    });
    return claimed;
  }

  // Send entries in parcels. A parcel that is refused is halved, so that one entry cannot hold up all others.
  async function sendEntries(pass, rows) {
    if (!rows.length) return "";
    if (rows.length > MOST.entries || (rows.length > 1 && JSON.stringify(rows.map((row) => row.entry)).length > MOST.letters)) {
      return halves(pass, rows);
    }
    const claimed = await claim(rows);
    if (!claimed.length) return "";
    const body = JSON.stringify({ sent_at: new Date().toISOString(), entries: claimed.map((row) => row.entry) });
    const answer = await pass.post("entries/", { body, headers: { "Content-Type": "application/json" } });
    const taken = answer.status === 200 && answer.body && Array.isArray(answer.body.entries) ? answer.body.entries : null;
    if (taken) {
      await settle(claimed, taken, answer.body.now);
      const missing = claimed.filter((row) => !taken.some((one) => one.id === row.id));
      if (missing.length) await note("entries", missing, "server");
      return "";
    }
    const why = whyNot(answer);
    if (why === "refused" && claimed.length > 1 && answer.status !== 403) return halves(pass, claimed);
    await note("entries", claimed, why, (answer.body && answer.body.error) || `${answer.status}`);
    return why === "refused" && answer.status !== 403 ? "" : why;
  }

  async function halves(pass, rows) {
    const middle = Math.ceil(rows.length / 2);
    return (await sendEntries(pass, rows.slice(0, middle))) || sendEntries(pass, rows.slice(middle));
  }

  const settle = (rows, taken, now) => store.run(["entries", "sent"], "readwrite", (change) => {
    for (const one of taken) {
      const row = rows.find((each) => each.id === one.id);
      if (!row || !one.state) continue;
      change.objectStore("entries").delete(row.id);
      const { kind, door, tunnel, task, job, repair } = row.entry;
      const place = row.entry.anonymous ? {} : { door, tunnel, task, job, repair, made_at: row.made_at };
      change.objectStore("sent").put({ id: row.id, base: row.base, kind, now, state: one.state, reason: one.reason || "", ...place });
    }
  });

  async function sendFiles(pass, name, path, rows) {
    for (const row of rows) {
      const form = new FormData();
      form.append("key", row.key);
      form.append("entry", row.entry);
      form.append(name === "photos" ? "taken_at" : "made_at", row.made_at);
      if (name === "photos") form.append("moment", row.moment || "");
      const { bytes } = (await store.get("bytes", row.key)) || {};
      if (!bytes) continue; // sent by another tab meanwhile
      form.append("file", new Blob([bytes], { type: row.type }), row.file);
      const answer = await pass.post(path, { body: form }, 4 * PATIENCE);
      if (answer.status === 200 && answer.body && answer.body.key === row.key) {
        await drop(name, row.key);
        continue;
      }
      const why = whyNot(answer);
      await note(name, [row], why, (answer.body && answer.body.error) || `${answer.status}`);
      if (why !== "refused" || answer.status === 403) return why;
    }
    return "";
  }

  const URGENT = { danger: 0, cannot: 0 };
  const rank = (row) => (row.entry.kind in URGENT ? 0 : row.entry.kind === "details" ? 2 : 1);
  const inOrder = (rows) => rows.sort((a, b) => rank(a) - rank(b) || (a.made_at < b.made_at ? -1 : 1));

  async function drainFarm(base, isForced) {
    const isReady = (row) => row.base === base && (isForced || !(row.rest > Date.now()));
    const isDue = (row) => isReady(row) && (isForced || !row.hold || row.tries || row.hold <= Date.now());
    const waiting = await store.all("entries");
    const held = new Set(waiting.map((row) => row.id));
    const entries = waiting.filter(isDue);
    const files = { photos: (await store.all("photos")).filter(isReady), voices: (await store.all("voices")).filter(isReady) };
    const isIdle = !entries.length && ![...files.photos, ...files.voices].some((row) => !held.has(row.entry));
    if (isIdle) return "";
    const pass = new Pass(base);
    const shut = await pass.enter();
    if (shut) return shutOut(shut, entries, files);
    const mine = async (name, rows) => {
      await note(name, rows.filter((row) => !pass.mine(row)), "person");
      return rows.filter((row) => pass.mine(row));
    };
    const own = inOrder(await mine("entries", entries));
    let why = await sendEntries(pass, own.filter((row) => row.entry.kind !== "details"));
    const left = async () => new Set((await store.all("entries")).map((row) => row.id));
    const first = await left(); // details and files go after what they are about, never without it
    if (!why) why = await sendEntries(pass, own.filter((row) => row.entry.kind === "details" && !first.has(row.entry.parent)));
    const still = await left();
    for (const [name, path] of [["photos", "photos/"], ["voices", "voices/"]]) {
      const rows = await mine(name, files[name]);
      if (!why) why = await sendFiles(pass, name, path, rows.filter((row) => !still.has(row.entry)));
    }
    return why;
  }

  async function shutOut(answer, entries, files) {
    const why = whyNot(answer);
    const said = (answer.body && answer.body.error) || `${answer.status}`;
    await note("entries", entries, why, said);
    for (const name of ["photos", "voices"]) await note(name, files[name], why, said);
    if (why === "signin") await store.put("settings", { name: "login", url: (answer.body && answer.body.login) || "" });
    return why;
  }

  async function drainAll(isForced) {
    const rows = [...await store.all("entries"), ...await store.all("photos"), ...await store.all("voices")];
    let why = "";
    for (const base of new Set(rows.map((row) => row.base))) why = (await drainFarm(base, isForced)) || why;
    return why;
  }

  // One page at a time sends: by the browser's lock, or where it has none by a row with an end.
  async function alone(work) {
    if (navigator.locks) {
      return navigator.locks.request("gablekeep-field", { ifAvailable: true }, (lock) => (lock ? work() : "busy"));
    }
    const owner = newKey();
    const got = await store.run("settings", "readwrite", (change) => {
      const told = { result: false };
      const rows = change.objectStore("settings");
      rows.get("lease").onsuccess = (event) => {
        if (event.target.result && event.target.result.until > Date.now()) return;
        told.result = true;
        rows.put({ name: "lease", owner, until: Date.now() + 3 * PATIENCE });
      };
      return told;
    });
    if (!got.result) return "busy";
    try {
      return await work();
    } finally {
      await store.remove("settings", "lease");
    }
  }

  // Send what is due, and say in a word why not all of it went; "" when it did.
  function drain(isForced = false) {
    if (running) {
      again = Boolean(again || isForced);
      return running;
    }
    running = (async () => {
      let why = "";
      let next = isForced;
      do {
        again = null;
        const isNow = next;
        why = await alone(() => drainAll(isNow));
        next = again;
      } while (next !== null && !why);
      return why;
    })().finally(() => { running = null; });
    return running;
  }

  return { add, attach, undo, drain, ask, Pass, HOLD };
})();
