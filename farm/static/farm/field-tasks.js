// The storm sheet, a job and a near miss on the crew's page.
"use strict";

(() => {
  const { page: P, queue, places, work } = Field;
  const { state, t, count, time, day, h, button, link, say, live } = P;
  const { same, lately, placeOf } = places;
  const { write, remember, openCamera, waiting, rowOf, tile, field, minutesField, partsUsed, measured } = work;

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
      h("p", {}, task.windward && h("b", { class: "tag" }, t("windward")), task.critical && h("b", { class: "tag" }, t("critical")), task.people > 1 && h("b", { class: "tag" }, task.with ? t("with", { who: task.with }) : t("by_two")), " ", task.minutes && h("span", { class: "quiet" }, t("about_minutes", { n: task.minutes }))),
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
        button("photo", t("photo"), () => openCamera(Promise.resolve(rowOf(one.id)), "")),
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
      body: [h("p", {}, h("span", { class: "quiet" }, t("until", { date: day(job.until) })), " ", job.is_late && h("b", { class: "tag" }, job.late)), form],
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
    location.replace(`#saved/${row.id}`);
    P.send();
  }

  Field.isWhole = true;
  P.show({ isSame: true });
})();
