// Pages of the crew's page about work: what was kept and its details, the storm sheet, a job, a near miss, what waits.
"use strict";

(() => {
  const { page: P, queue, store, places } = Field;
  const { state, t, count, time, day, h, button, link, say, who, live } = P;
  const { same, lately, placeOf } = places;
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
      if (!kept) return;
      const mine = state.files.filter((one) => one.entry === kept.id && one.what === "photo");
      if (mine.length >= MOST_PHOTOS) return say(t("photos_most"));
      const picture = await Field.pictures.shrink(file);
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
    state.unsent.entries = [...state.unsent.entries.filter((one) => one.id !== row.id), row];
    location.replace(`#saved/${row.id}`);
    P.send();
  };

  // --- what was kept, and its details --------------------------------------------------------------

  const waiting = (id) => state.unsent.entries.find((row) => row.id === id);
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
    const row = entry.row || { id: entry.id, base: state.base, person: who() };
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
    const row = entry.row || { id: entry.id, base: state.base, person: who() };
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

  // --- the storm sheet -----------------------------------------------------------------------------

  const tasks = () => (state.farm && state.farm.storm ? state.farm.storm.tasks : []);
  const inOrder = (a, b) => (a.position ?? 999) - (b.position ?? 999);

  // What this phone has said of a task since the farm was loaded.
  function saidOf(task, kinds) {
    const alone = tasks().filter((one) => task.door && same(one.door, task.door)).length === 1;
    return lately().filter((one) => kinds.includes(one.kind) && (same(one.task, task.id) || (!one.task && alone && same(one.door, task.door)))).at(-1);
  }

  const isOpen = (task) => task.state === "open" && !saidOf(task, ["secured", "cannot"]);
  Field.storm = { mine: () => tasks().filter((task) => task.mine && isOpen(task)).sort(inOrder) };

  Field.pages.storm = () => {
    const { storm } = state.farm || {};
    if (!storm) return { title: t("storm_sheet"), body: [h("p", {}, t("no_storm"))] };
    const body = [
      h("p", { class: "lead" }, storm.headline), h("p", { class: "quiet" }, t("estimates")),
      live(() => {
        const mine = Field.storm.mine();
        const said = tasks().filter((task) => saidOf(task, ["secured", "cannot"])).sort(inOrder);
        const others = tasks().filter((task) => !task.mine && isOpen(task)).sort(inOrder);
        const looks = tasks().filter((task) => task.state === "done" && task.needs_check && !task.mine && !saidOf(task, ["checked"]));
        return [
          h("h2", {}, mine.length ? count("storm_left", mine.length) : t("nothing_left")),
          h("ol", { class: "cards" }, mine.map((task, number) => card(task, number === 0))),
          said.length > 0 && [h("h2", {}, t("done")), h("ul", { class: "cards" }, said.map(ticked))],
          others.length > 0 && h("details", { class: "more" }, h("summary", {}, `${t("for_others")} (${others.length})`), h("ol", { class: "cards" }, others.map((task) => card(task, false)))),
          looks.length > 0 && [h("h2", {}, t("second_look")), h("p", {}, t("second_look_how")), h("ul", { class: "list" }, looks.map(lookAt))],
        ];
      }),
    ];
    return { title: storm.deadline ? t("storm_by", { time: time(storm.deadline) }) : t("storm_sheet"), body };
  };

  const taskPlace = (task) => ({ ...(placeOf(task) || { kind: "label", id: "" }), name: task.where || places.codeOf(task.tunnel) });
  const taskRef = (task) => ({ task: task.id, ...(task.door ? { door: task.door } : task.tunnel ? { tunnel: task.tunnel } : {}) });

  function card(task, isFirst) {
    const here = taskPlace(task);
    const steps = (task.steps || []).length > 0 && h("ol", { class: "steps" }, task.steps.map((step) => h("li", {}, step)));
    return h("li", { class: "card" },
      h("h3", {}, here.kind === "label" ? here.name : h("a", { href: `#${here.kind}/${here.id}` }, here.name)),
      h("p", { class: "lead" }, task.fault ? `${task.title}: ${task.fault}` : task.title),
      h("p", {}, task.windward && h("b", { class: "tag" }, t("windward")), task.critical && h("b", { class: "tag" }, t("critical")), task.people > 1 && h("b", { class: "tag" }, task.with ? t("with", { who: task.with }) : t("by_two")), task.minutes && h("span", { class: "quiet" }, t("about_minutes", { n: task.minutes }))),
      isFirst ? steps : steps && h("details", {}, h("summary", {}, t("how")), steps),
      P.canWrite() && h("p", { class: "row" }, button("secured", `${t("done")}`, () => tick(task), "primary tall"), link("cannot", t("cannot"), `#cannot/${task.id}`)));
  }

  async function tick(task) {
    const row = await write({ kind: "secured", ...taskRef(task) });
    if (!row) return;
    await remember(taskPlace(task));
    P.send();
  }

  function ticked(task) {
    const one = saidOf(task, ["secured", "cannot"]);
    const row = waiting(one.id);
    return h("li", { class: "card is-done" },
      h("p", { class: "state" }, Field.signs(one.kind), h("span", {}, h("strong", {}, taskPlace(task).name), ` ${task.title}: ${one.kind === "cannot" ? t("cannot") : t("done")} ${time(one.made_at)}`)),
      h("p", { class: "row" },
        row && !row.tries && button("undo", t("undo"), async () => say((await queue.undo(one.id)) ? t("undone") : t("too_late"))),
        button("photo", t("photo"), () => openCamera(Promise.resolve(row || { id: one.id, base: state.base, person: who() }), "")),
        link("", t("details"), `#saved/${one.id}`)));
  }

  function lookAt(task) {
    return h("li", { class: "row-link" }, h("span", {}, h("strong", {}, taskPlace(task).name), ` ${task.title}`),
      P.canWrite() && button("checked", t("it_holds"), async () => { if (await write({ kind: "checked", ...taskRef(task) })) P.send(); }));
  }

  Field.pages.cannot = (id) => {
    const task = tasks().find((one) => same(one.id, id));
    if (!task) return null;
    const form = h("form", { novalidate: true, onsubmit: (event) => event.preventDefault() },
      field("words", t("in_words"), h("input", { id: "words", name: "words", maxlength: 200, autocomplete: "off" })),
      h("div", { class: "stack" }, (state.farm.reasons || []).map((reason) => button("cannot", reason, async () => {
        const words = form.elements.words.value.trim();
        const row = await write({ kind: "cannot", ...taskRef(task), reason: words ? `${reason}: ${words}` : reason });
        if (!row) return;
        location.replace("#storm");
        P.send();
      }))));
    return { title: `${taskPlace(task).name}: ${t("why_not")}`, body: [h("p", { class: "lead" }, task.title), form] };
  };

  // --- a job -----------------------------------------------------------------------------------------

  Field.pages.job = (id) => {
    const job = state.farm && state.farm.jobs.find((one) => same(one.id, id));
    if (!job) return null;
    const spots = job.spots || [];
    const outcomes = ["tight", "turned", "spun", "missing"];
    const form = h("form", { id: "job", novalidate: true, onsubmit: (event) => { event.preventDefault(); finish(job, form); } },
      (job.checklist || []).length > 0 && h("fieldset", {}, h("legend", {}, t("checklist")), job.checklist.map((line, number) => h("label", { class: "choice" }, h("input", { type: "checkbox", name: "tick", value: number }), h("span", {}, line)))),
      spots.length > 0 && h("fieldset", {}, h("legend", {}, t("each_screw")),
        spots.map((spot, number) => h("fieldset", { class: "screw" }, h("legend", {}, spot.name || spot), h("div", { class: "tiles" }, outcomes.map((one) => tile(`screw-${number}`, one, "", t(one)))))),
        button("", t("others_tight"), () => spots.forEach((_, number) => { if (!form.elements[`screw-${number}`].value) form.elements[`screw-${number}`].value = "tight"; }))),
      minutesField(), partsUsed(),
      field("text", t("in_words"), h("textarea", { id: "text", name: "text", maxlength: 1000, rows: 2 })));
    return {
      title: `${job.where}: ${job.title}`,
      body: [h("p", {}, h("span", { class: "quiet" }, t("until", { date: day(job.until) })), job.is_late && h("b", { class: "tag" }, job.late)), form],
      thumb: P.canWrite() ? [link("home", t("start"), "#"), h("button", { type: "submit", form: "job", class: "primary" }, Field.signs("sent"), h("span", {}, t("job_is_done")))] : null,
    };
  };

  async function finish(job, form) {
    const found = measured(form);
    if (!found) return;
    const ticks = [...form.querySelectorAll("input[name=tick]:checked")].map((box) => Number(box.value));
    const screws = (job.spots || []).map((spot, number) => ({ spot: spot.spot || spot.name || spot, outcome: form.elements[`screw-${number}`].value })).filter((one) => one.outcome);
    const text = form.elements.text.value.trim();
    const row = await write({ kind: "job_done", job: job.id, ...(job.door && { door: job.door }), ...(job.tunnel && { tunnel: job.tunnel }), ticks, ...found, ...(screws.length && { screws }), ...(text && { text }) });
    if (!row) return;
    state.unsent.entries = [...state.unsent.entries, row];
    location.replace(`#saved/${row.id}`);
    P.send();
  }

  // --- a near miss -----------------------------------------------------------------------------------

  Field.pages.miss = () => {
    const { doors = [], tunnels = [] } = state.farm || {};
    const option = (value, text) => h("option", { value }, text);
    const form = h("form", { id: "miss", novalidate: true, onsubmit: (event) => { event.preventDefault(); keepMiss(form); } },
      field("what", t("miss_what"), h("textarea", { id: "what", name: "what", maxlength: 2000, rows: 4 })),
      field("where", t("miss_where"), h("select", { id: "where", name: "where" }, option("", t("miss_nowhere")), tunnels.map((one) => option(`tunnel/${one.id}`, t("tunnel", { code: one.code }))), doors.map((one) => option(`door/${one.id}`, one.code)))),
      h("fieldset", {}, h("legend", {}, t("near_miss")),
        h("label", { class: "choice" }, h("input", { type: "radio", name: "named", value: "", checked: true }), h("span", {}, t("miss_nameless"))),
        h("label", { class: "choice" }, h("input", { type: "radio", name: "named", value: "1" }), h("span", {}, t("miss_named"))),
        h("p", { class: "quiet" }, t("miss_how"))));
    return { title: t("near_miss"), body: [form], thumb: [link("home", t("start"), "#"), h("button", { type: "submit", form: "miss", class: "primary" }, Field.signs("sent"), h("span", {}, t("keep")))] };
  };

  async function keepMiss(form) {
    const text = form.elements.what.value.trim();
    if (!text) { say(t("miss_needs")); form.elements.what.focus(); return; }
    const [kind, id] = form.elements.where.value.split("/");
    const row = await write({ kind: "near_miss", text, anonymous: !form.elements.named.value, ...(id && { [kind]: Number(id) }) });
    if (!row) return;
    state.unsent.entries = [...state.unsent.entries, row];
    location.replace(`#saved/${row.id}`);
    P.send();
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

  Field.hasWork = true;
  P.begin();
})();
