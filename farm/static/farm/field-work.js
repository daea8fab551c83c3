// Keeping what is tapped, with its picture; the pages of what was kept, of its details, and of what waits to be sent.
"use strict";

(() => {
  const { page: P, queue, store, places } = Field;
  const { state, t, count, time, day, h, button, link, say, who, live } = P;
  const { same, placeOf } = places;
  const MOST_MINUTES = 600;
  const MOST_PHOTOS = 6;
  const FAULTS = ["fixed", "needs_part", "danger"];
  let awaited = null; // the entry whose picture the camera is out for

  // --- keeping -----------------------------------------------------------------------------------

  const camera = document.getElementById("camera");

  function openCamera(row, moment) {
    awaited = { row, moment };
    camera.value = "";
    camera.click(); // only a tap may open it, so it comes before anything that waits
  }

  camera.addEventListener("change", async () => {
    const [file] = camera.files;
    if (!file || !awaited) return;
    const { row, moment } = awaited;
    try {
      const kept = await row;
      if (!kept || !((await store.get("entries", kept.id)) || (await store.get("sent", kept.id)))) return; // taken back
      const mine = state.files.filter((one) => one.entry === kept.id && one.what === "photo");
      if (mine.length >= MOST_PHOTOS) return say(t("photos_most"));
      const picture = await Field.pictures.shrink(file, kept.person !== null && Boolean(state.farm && state.farm.farm.keeps_photo_data));
      if (!picture) return say(t("photo_not_read"));
      await queue.attach("photos", kept, { ...picture, moment });
      P.send();
    } catch {
      say(t("full"));
    }
  });

  async function write(entry) {
    try {
      const row = await queue.add(state.base, who(), entry);
      state.unsent = { ...state.unsent, count: state.unsent.count + 1, entries: [...state.unsent.entries, row] };
      P.frame();
      if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
      return row;
    } catch {
      say(t("full"));
      return null;
    }
  }

  async function remember(here) {
    if (here.kind === "label") return;
    const rest = state.last.filter(([kind, id]) => kind !== here.kind || !same(id, here.id));
    state.last = [[here.kind, here.id], ...rest].slice(0, 6);
    await store.put("settings", { name: "last", places: state.last }).catch(() => {});
  }

  // Keep an entry of a place, go to where its details are, and send what may go.
  Field.keep = async (entry, { here, withPhoto, moment }) => {
    const kept = write(entry);
    if (withPhoto) openCamera(kept, moment);
    const row = await kept;
    if (!row) return;
    await remember(here);
    location.replace(`#saved/${row.id}`);
    P.send();
  };

  // --- what was kept, and its details --------------------------------------------------------------

  const waiting = (id) => state.unsent.entries.find((row) => row.id === id);
  const rowOf = (id) => waiting(id) || { id, base: state.base, person: who() };
  const kept = (id) => (waiting(id) ? { ...waiting(id).entry, row: waiting(id) } : state.sent.find((row) => row.id === id));

  Field.pages.saved = (id) => {
    const entry = kept(id);
    if (!entry) return { title: t("undone"), body: [] };
    const here = placeOf(entry);
    const rest = Field.storm.mine().map(placeOf).filter(Boolean);
    const next = entry.kind === "secured" && rest.find((one) => !here || one.kind !== here.kind || one.id !== here.id);
    return {
      title: t("saved"),
      body: [
        h("p", { class: "lead" }, here ? h("strong", {}, `${here.name}: `) : "", t(entry.kind === "danger" ? "danger_kind" : entry.kind), " ", entry.made_at && time(entry.made_at)),
        live(() => status(id)),
        entry.kind !== "near_miss" && photos(entry),
        ["secured", "cannot", ...FAULTS].includes(entry.kind) && details(entry),
      ],
      thumb: [link("home", t("start"), "#"), next ? link("next", `${t("next_door")}: ${next.name}`, `#${next.kind}/${next.id}`, "primary") : link("door", t("which_door"), "#doors", "primary")],
    };
  };

  function status(id) {
    const row = waiting(id);
    if (!row) {
      const sent = state.sent.find((one) => one.id === id);
      return h("p", { class: "state" }, Field.signs("sent"), h("span", {}, sent && sent.state !== "taken" ? `${t(`state_${sent.state}`)} ${sent.reason}` : t("sent")));
    }
    return [
      h("p", { class: "state" }, Field.signs("waiting"), h("span", {}, row.why === "new" ? t("saved_here") : whyNot(row))),
      !row.tries && button("undo", t("undo"), async () => {
        const isGone = await queue.undo(id);
        if (isGone) {
          await P.refreshed();
          location.replace("#");
        }
        setTimeout(() => say(isGone ? t("undone") : t("too_late")), 100);
      }),
    ];
  }

  function photos(entry) {
    const row = rowOf(entry.id);
    const moment = { fixed: "after", danger: "before", needs_part: "before" }[entry.kind] || "";
    return [
      live(() => {
        const mine = state.files.filter((one) => one.entry === entry.id && one.what === "photo");
        return mine.length ? h("p", { class: "pictures" }, mine.map((one) => (one.small ? h("img", { src: one.small, alt: t("photo") }) : Field.signs("photo"))), h("span", {}, count("photo", mine.length))) : null;
      }),
      button("photo", t("add_photo"), () => openCamera(Promise.resolve(row), moment)),
    ];
  }

  const tile = (name, value, sign, text, type = "radio") => h("label", { class: "tile" }, h("input", { type, name, value }), sign && Field.signs(sign), h("span", {}, text));
  const field = (id, text, input) => h("p", { class: "field" }, h("label", { for: id }, text), input);

  const minutesField = () => field("minutes", t("minutes"), h("input", { id: "minutes", name: "minutes", type: "number", min: 0, max: MOST_MINUTES, inputmode: "numeric" }));

  function partsUsed() {
    const book = state.farm ? state.farm.store : [];
    const stock = [...book.filter((one) => Number(one.left) > 0), ...book.filter((one) => !(Number(one.left) > 0))];
    if (!stock.length) return null;
    const rows = h("div", {});
    const add = () => {
      const number = rows.children.length + 1;
      rows.append(h("div", { class: "part-used" },
        field(`material-${number}`, t("parts_used"), h("select", { id: `material-${number}`, name: "material" }, h("option", { value: "" }, t("not_said")),
          stock.map((one) => h("option", { value: one.id }, `${one.name} (${t("left", { n: one.left, unit: one.unit || "" }).replace(/ +/g, " ")})`)))),
        field(`quantity-${number}`, t("how_many"), h("input", { id: `quantity-${number}`, name: "quantity", inputmode: "decimal", autocomplete: "off", value: "1" }))));
    };
    add();
    return [rows, button("", t("another_part"), add)];
  }

  // What the form says of time and parts; null when a number is none, which is said.
  function measured(form) {
    const found = {};
    const minutes = form.elements.minutes.value.trim();
    const isOdd = form.elements.minutes.validity.badInput || (minutes && !(Number.isInteger(+minutes) && +minutes >= 0 && +minutes <= MOST_MINUTES));
    if (isOdd) { say(t("bad_number", { most: MOST_MINUTES })); form.elements.minutes.focus(); return null; }
    if (minutes) found.minutes = Number(minutes);
    const parts = [];
    for (const row of form.querySelectorAll(".part-used")) {
      const material = row.querySelector("select").value;
      const input = row.querySelector("input");
      const quantity = input.value.trim().replace(",", ".");
      if (!material) continue;
      if (!/^\d{1,5}(\.\d{1,3})?$/.test(quantity) || !(+quantity > 0)) { say(t("bad_number", { most: 99999 })); input.focus(); return null; }
      parts.push({ material: Number(material), quantity });
    }
    if (parts.length) found.parts = parts;
    return found;
  }

  function details(entry) {
    const isFault = FAULTS.includes(entry.kind);
    const { modes = [], part_kinds: kinds = [] } = state.farm || {};
    const spoken = voice(entry);
    const form = h("form", { class: "details", novalidate: true, onsubmit: (event) => { event.preventDefault(); keepDetails(entry, form); } },
      isFault && h("fieldset", {}, h("legend", {}, t("how_shows")), h("div", { class: "tiles" }, modes.map((one) => tile("mode", one.key, one.key, one.name)))),
      isFault && field("part", t("which_part"), h("select", { id: "part", name: "part" }, h("option", { value: "" }, t("not_said")), kinds.map((one) => h("option", { value: one.key }, one.name)))),
      isFault && partsUsed(), minutesField(), spoken,
      field("text", t("in_words"), h("textarea", { id: "text", name: "text", maxlength: 1000, rows: 3 })),
      h("button", { type: "submit", class: "primary" }, h("span", {}, t("keep_details"))));
    return h("details", { class: "more" }, h("summary", {}, t("details")), form);
  }

  async function keepDetails(entry, form) {
    const found = measured(form);
    if (!found) return;
    for (const name of ["mode", "part", "text"]) {
      const value = form.elements[name] ? form.elements[name].value.trim() : "";
      if (value) found[name] = value;
    }
    if (!Object.keys(found).length) return;
    const { door, tunnel } = entry;
    if (!(await write({ kind: "details", parent: entry.id, ...(door && { door }), ...(tunnel && { tunnel }), ...found }))) return;
    say(t("details_kept"));
    form.replaceWith(h("p", { class: "state" }, Field.signs("sent"), h("span", {}, t("details_kept"))));
    P.send(true);
  }

  function voice(entry) {
    if (!Field.voice.isAble()) return null;
    const heard = h("span", {}, t("voice"));
    const row = rowOf(entry.id);
    const press = h("button", { type: "button", onclick: async () => {
      if (Field.voice.isOn()) return Field.voice.stop();
      try {
        await Field.voice.start((n) => { heard.textContent = t("voice_stop", { n }); }, async (note) => {
          await queue.attach("voices", row, note).catch(() => say(t("full")));
          heard.textContent = t("voice_kept", { n: note.seconds });
          P.send();
        });
        heard.textContent = t("voice_stop", { n: 0 });
      } catch {
        say(t("voice_not"));
      }
      return undefined;
    } }, Field.signs("voice"), heard);
    return h("p", {}, press);
  }

  // --- what waits ------------------------------------------------------------------------------------

  const whyNot = (row) => t(`why_${row.why || "new"}`, { name: row.person ? row.person.name : "", said: row.said });

  Field.pages.unsent = () => ({ title: t("not_sent"), body: [live(waitingList), live(sentList)] });

  function waitingList() {
    if (!state.unsent.count) return h("p", { class: "state" }, Field.signs("sent"), h("span", {}, t("nothing_waits")));
    const line = (sign, what, when, why) => h("li", {}, Field.signs(sign), h("span", {}, h("strong", {}, what), ` ${time(when, { weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" })}`, h("span", { class: "why" }, why)));
    const named = (entry) => [(entry && placeOf(entry) && placeOf(entry).name) || "", entry ? t(entry.kind === "danger" ? "danger_kind" : entry.kind) : ""].filter(Boolean).join(": ");
    const entries = [...state.unsent.entries].sort((a, b) => (a.made_at < b.made_at ? -1 : 1));
    const rows = entries.map((row) => line(row.entry.kind, named(row.entry), row.made_at, whyNot(row)));
    const files = state.files.map((row) => line(row.what === "photo" ? "photo" : "voice", `${t(row.what)} ${named(kept(row.entry))}`, row.made_at, waiting(row.entry) ? t("why_first") : whyNot(row)));
    const needsLogin = state.why === "signin" || state.shut === "not_signed_in";
    return [
      h("p", {}, needsLogin ? link("next", t("sign_in"), P.loginUrl(), "primary") : button("next", t("send_now"), async (event) => {
        event.currentTarget.querySelector("span").textContent = t("sending");
        await P.send(true);
      }, "primary tall")),
      h("ul", { class: "waiting" }, rows, files),
    ];
  }

  function sentList() {
    const rows = state.sent.filter((row) => row.base === state.base && row.kind !== "near_miss").sort((a, b) => (a.now < b.now ? 1 : -1)).slice(0, 20);
    if (!rows.length) return null;
    return [h("h2", {}, t("sent_lately")), h("ul", { class: "waiting" }, rows.map((row) => {
      const here = placeOf(row);
      return h("li", {}, Field.signs("sent"), h("span", {}, h("strong", {}, here ? `${here.name}: ` : "", t(row.kind === "danger" ? "danger_kind" : row.kind)), ` ${row.made_at ? time(row.made_at) : ""}`, row.state !== "taken" && h("span", { class: "why" }, `${t(`state_${row.state}`)} ${row.reason}`)));
    }))];
  }

  Field.work = { write, remember, openCamera, waiting, rowOf, tile, field, minutesField, partsUsed, measured };
})();
