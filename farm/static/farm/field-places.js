// Pages of the crew's page that begin with a place: start, which door, the door, and what is said of it.
"use strict";

Field.pages = Object.create(null);

(() => {
  const P = () => Field.page;
  const KINDS = ["secured", "fixed", "needs_part", "danger"];
  const RECENT = 4;

  // --- places ----------------------------------------------------------------------------------

  const same = (a, b) => a !== undefined && a !== null && String(a) === String(b);
  const doors = () => (P().state.farm ? P().state.farm.doors : []);
  const tunnels = () => (P().state.farm ? P().state.farm.tunnels : []);

  // A place by the first two words of an address: door/12, tunnel/3, label/x7k.
  function place(kind, id) {
    const { t } = P();
    if (kind === "door") {
      const row = doors().find((one) => same(one.id, id));
      return row && { kind, id: row.id, row, name: row.code, ref: { door: row.id } };
    }
    if (kind === "tunnel") {
      const row = tunnels().find((one) => same(one.id, id));
      return row && { kind, id: row.id, row, name: t("tunnel", { code: row.code }), ref: { tunnel: row.id } };
    }
    return kind === "label" && id ? { kind, id, row: {}, name: t("label_place", { token: id }), ref: { label: id } } : null;
  }

  const placeOf = (entry) => (entry.door ? place("door", entry.door) : entry.tunnel ? place("tunnel", entry.tunnel) : entry.label ? place("label", entry.label) : null);
  const codeOf = (id) => (tunnels().find((one) => same(one.id, id)) || {}).code || "";

  // What was said on this phone and is newer than the farm that it carries.
  function lately() {
    const { state } = P();
    const made = state.farm ? state.farm.made_at : "";
    const waiting = state.unsent.entries.filter((row) => row.base === state.base).map((row) => ({ ...row.entry, waits: true, row }));
    const sent = state.sent.filter((row) => row.base === state.base && row.state === "taken" && (!row.now || new Date(row.now) > new Date(made)));
    return [...sent, ...waiting];
  }

  function dangersAt(here) {
    const mended = lately().filter((one) => one.kind === "fixed" && one.repair).map((one) => String(one.repair));
    const { danger } = here.row;
    const of = danger && !mended.includes(String(danger.repair)) ? [danger] : [];
    const own = lately().filter((one) => one.kind === "danger" && same(one[here.kind], here.id));
    return [...of, ...own.map((one) => ({ text: "", since: one.made_at, waits: one.waits }))];
  }

  function dangerPanel(here, danger, isLinked) {
    const { h, t, time } = P();
    const name = h("strong", {}, isLinked ? h("a", { href: `#${here.kind}/${here.id}` }, here.name) : here.name);
    return h("div", { class: "danger" },
      h("p", { class: "signal" }, Field.signs("danger"), h("span", {}, t("danger"))),
      h("p", {}, name, " ", danger.text || t("danger_keep_out"), " ", h("span", { class: "quiet" }, t("since", { time: time(danger.since) }))),
      danger.waits && h("p", {}, t("danger_waits")));
  }

  // --- start -----------------------------------------------------------------------------------

  Field.pages.start = () => {
    const { state, t, h, link, button, live, time, who, logOut } = P();
    const person = who();
    const body = [
      live(dangers), live(stormCard), live(jobs),
      h("p", { class: "row" }, link("miss", t("near_miss"), "#miss"), link("waiting", t("not_sent"), "#unsent")),
      live(() => h("p", { class: "quiet" }, state.farm ? `${t("data_of", { time: time(state.farm.made_at) })} ` : `${P().noFarm()} `,
        state.isReady ? t("ready") : !self.isSecureContext && t("not_ready"))),
      live(install),
      h("p", { class: "row" }, link("", t("sheets"), document.body.dataset.sheets), person && button("", t("log_out"), logOut)),
      h("p", { class: "quiet" }, t("estimates"), " ", t("cautions")),
    ];
    return { title: person ? person.name : t("title"), body };
  };

  const dangers = () => {
    const all = [...tunnels().map((one) => place("tunnel", one.id)), ...doors().map((one) => place("door", one.id))];
    return all.flatMap((here) => dangersAt(here).map((danger) => dangerPanel(here, danger, true)));
  };

  function stormCard() {
    const { state, t, h, count, time } = P();
    const { storm } = state.farm || {};
    if (!storm) return null;
    const left = Field.storm ? Field.storm.mine().length : storm.tasks.filter((task) => task.mine && task.state === "open").length;
    return h("a", { class: "card storm-card", href: "#storm" }, Field.signs("storm"),
      h("span", {}, h("strong", {}, storm.deadline ? t("storm_by", { time: time(storm.deadline) }) : storm.headline),
        storm.deadline && h("span", {}, storm.headline),
        storm.start_by && h("span", {}, t("storm_start", { time: time(storm.start_by) })),
        h("span", {}, `${t("storm_sheet")}: ${left ? count("storm_left", left) : t("nothing_left")}`)));
  }

  function jobs() {
    const { state, t, h } = P();
    if (!state.farm) return null;
    const done = new Set(lately().filter((one) => one.kind === "job_done").map((one) => String(one.job)));
    const open = state.farm.jobs.filter((job) => !done.has(String(job.id)));
    const [mine, others] = [open.filter((job) => job.mine), open.filter((job) => !job.mine)];
    return [
      h("h2", {}, t("jobs")),
      mine.length ? h("ul", { class: "list" }, mine.map(jobRow)) : h("p", {}, t("no_jobs")),
      others.length > 0 && h("details", {}, h("summary", {}, `${t("others_jobs")} (${others.length})`), h("ul", { class: "list" }, others.map(jobRow))),
    ];
  }

  function jobRow(job) {
    const { t, h, day } = P();
    return h("li", {}, h("a", { class: "row-link", href: `#job/${job.id}` }, Field.signs("job"),
      h("span", {}, h("strong", {}, job.where), ` ${job.title} `, h("span", { class: "quiet" }, t("until", { date: day(job.until) })), " ", job.is_late && h("b", { class: "tag" }, job.late), job.who && !job.mine && h("span", { class: "quiet" }, ` ${job.who}`))));
  }

  function install() {
    const { state, t, h, button } = P();
    if (matchMedia("(display-mode: standalone)").matches || navigator.standalone) return null;
    if (state.installer) return h("p", {}, button("home", t("install"), () => { state.installer.prompt(); state.installer = null; }));
    return /iPhone|iPad/.test(navigator.userAgent) ? h("p", { class: "quiet" }, t("install_hint")) : null;
  }

  // --- which door ------------------------------------------------------------------------------

  Field.pages.doors = () => {
    const { state, t, h, live } = P();
    const list = h("div", { class: "doors" });
    const search = h("input", { type: "search", id: "find", autocomplete: "off", oninput: () => draw() });
    const draw = () => {
      const wanted = search.value.trim().toLowerCase();
      list.replaceChildren(...tunnels().map((one) => tunnelRows(one, wanted)).filter(Boolean));
    };
    draw();
    const first = live(() => (search.value ? null : [...group("in_the_round", nextPlaces()), ...group("nearby", nearby()), ...group("last_used", state.last.map((one) => place(...one)).filter(Boolean))]));
    if (!state.farm) return { title: t("which_door"), body: [h("p", {}, P().noFarm())] };
    return { title: t("which_door"), body: [first, h("p", { class: "field" }, h("label", { for: "find" }, t("find")), search), list] };
  };

  const group = (key, places) => (places.length
    ? [P().h("h2", {}, P().t(key)), P().h("ul", { class: "list" }, places.slice(0, RECENT).map((here) => P().h("li", {}, doorLink(here))))] : []);

  // The places of my open tasks in the order of the round; each once.
  function nextPlaces() {
    const open = Field.storm ? Field.storm.mine() : [];
    const found = open.map(placeOf).filter(Boolean);
    return found.filter((here, number) => found.findIndex((one) => one.kind === here.kind && one.id === here.id) === number).slice(0, 2);
  }

  // Without a round: the doors next to the last one.
  function nearby() {
    const { state } = P();
    const last = state.last.find(([kind]) => kind === "door");
    const near = last && state.farm && state.farm.near_places ? state.farm.near_places[last[1]] : null;
    return (near || []).map((id) => place("door", id)).filter(Boolean).slice(0, 3);
  }

  function doorLink(here) {
    const { h } = P();
    const { row } = here;
    const isDangerous = dangersAt(here).length > 0;
    return h("a", { class: `row-link door-link${isDangerous ? " is-danger" : ""}`, href: `#${here.kind}/${here.id}` },
      row.drawing ? h("span", { class: "small-drawing", "aria-hidden": "true" }, P().drawing(row.drawing, true)) : Field.signs("door"),
      h("span", {}, h("strong", {}, here.name), h("span", {}, row.kind ? `${row.kind} ${row.size || ""}` : row.name || "")),
      isDangerous && h("b", { class: "tag" }, Field.signs("danger"), P().t("danger")));
  }

  function tunnelRows(tunnel, wanted) {
    const { h, t } = P();
    const inside = doors().filter((one) => same(one.tunnel, tunnel.id));
    const isTunnel = `${tunnel.code} ${tunnel.name}`.toLowerCase().includes(wanted);
    const shown = isTunnel ? inside : inside.filter((one) => `${one.code} ${one.kind}`.toLowerCase().includes(wanted));
    if (!isTunnel && !shown.length) return null;
    const title = tunnel.name && tunnel.name !== tunnel.code ? `${tunnel.code} ${tunnel.name}` : tunnel.code;
    return h("section", {}, h("h2", {}, title), h("ul", { class: "list" },
      shown.map((one) => h("li", {}, doorLink(place("door", one.id)))),
      isTunnel && h("li", {}, h("a", { class: "row-link", href: `#tunnel/${tunnel.id}` }, Field.signs("door"), h("span", {}, t("whole_tunnel"))))));
  }

  // --- a place, and what is said of it -----------------------------------------------------------

  function placePage(kind, id, what) {
    const here = place(kind, id);
    if (!here) return null;
    return what && KINDS.includes(what) ? saying(here, what) : face(here);
  }

  Field.pages.door = (id, what) => placePage("door", id, what);
  Field.pages.tunnel = (id, what) => placePage("tunnel", id, what);
  Field.pages.label = (token, what) => {
    const { t, link } = P();
    const known = [...doors().map((one) => ["door", one]), ...tunnels().map((one) => ["tunnel", one])].find(([, one]) => (one.labels || []).includes(token));
    const made = known ? placePage(known[0], known[1].id, what) : placePage("label", token, what);
    return known || !made || what ? made : { ...made, body: [P().h("p", {}, t("label_unknown")), link("door", t("which_door"), "#doors"), ...made.body] };
  };
  Field.pages.gone = () => ({ title: P().t("which_door"), body: [P().h("p", {}, P().state.farm ? P().t("gone") : P().noFarm())] });

  function face(here) {
    const { h, t, day, live, canWrite, drawing } = P();
    const { row } = here;
    const under = here.kind === "tunnel" ? doors().filter((one) => same(one.tunnel, here.id)) : [];
    const body = [
      row.kind && h("p", { class: "lead" }, `${row.kind} ${row.size || ""}`),
      here.kind === "tunnel" && row.name !== row.code && h("p", { class: "lead" }, row.name),
      live(() => dangersAt(here).map((danger) => dangerPanel(here, danger, false))),
      row.drawing && h("figure", { class: "figure" }, drawing(row.drawing)),
      under.length > 0 && h("ul", { class: "list" }, under.map((one) => h("li", {}, doorLink(place("door", one.id))))),
      (row.repairs || []).length > 0 && [h("h2", {}, t("last_repairs")), h("ul", { class: "lines" }, row.repairs.map((one) => h("li", {}, h("span", { class: "quiet" }, day(one.on)), ` ${one.what} `, h("b", { class: "tag" }, one.says || one.state))))],
      here.kind === "door" && !(row.repairs || []).length && h("p", { class: "quiet" }, t("no_repairs")),
      (row.parts || []).length > 0 && [h("h2", {}, t("parts")), h("ul", { class: "lines" }, row.parts.map((one) => h("li", {}, h("strong", {}, one.name), ` ${one.age || ""} `, one.fitted_on && h("span", { class: "quiet" }, t("fitted", { date: day(one.fitted_on) })))))],
    ];
    return { title: here.name, body, thumb: canWrite() ? KINDS.map((kind) => P().link(kind, t(kind === "danger" ? "danger_kind" : kind), `#${here.kind}/${here.id}/${kind}`, `what what-${kind}`)) : null };
  }

  // The third tap: a picture or none. It is kept before the camera opens, which may end this page.
  function saying(here, kind) {
    const { h, t, button } = P();
    let repair = null;
    const open = kind === "fixed" ? (here.row.repairs || []).filter((one) => one.state !== "done") : [];
    if (open.length === 1) repair = open[0].id;
    const choice = (one, isFirst) => h("label", { class: "choice" }, h("input", { type: "radio", name: "repair", checked: isFirst, onchange: () => { repair = one ? one.id : null; } }), h("span", {}, one ? one.what : t("something_else")));
    const choices = open.length ? h("fieldset", {}, h("legend", {}, t("mended_which")), open.map((one) => choice(one, open.length === 1)), choice(null, open.length > 1)) : null;
    const keep = (withPhoto) => Field.keep({ kind, ...here.ref, ...(repair ? { repair } : {}) }, { here, withPhoto, moment: { fixed: "after", danger: "before", needs_part: "before" }[kind] || "" });
    return {
      title: `${here.name}: ${t(kind === "danger" ? "danger_kind" : kind)}`,
      body: [h("div", { class: "big-sign" }, Field.signs(kind)), kind === "danger" && h("p", { class: "lead" }, t("danger_goes")), choices],
      thumb: [button("none", t("no_photo"), () => keep(false), "what"), button("photo", t("photo"), () => keep(true), "what primary")],
    };
  }

  Field.places = { place, placeOf, codeOf, lately, same, dangersAt };
})();
