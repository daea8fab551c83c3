// The crew's page: its frame, its words, its way from page to page, and what keeps it up to date.
// The pages themselves are in field-places.js and field-work.js; they are named after the # of the address.
"use strict";

Field.page = (() => {
  const { store, queue } = Field;
  const given = document.body.dataset;
  const WORDS = JSON.parse(document.getElementById("words").textContent);
  const DAY = 24 * 3600 * 1000;
  const FRESH = 5 * 60 * 1000; // ms after which a page that is looked at again asks for the farm anew
  const WAITS = { first: 15000, longest: 300000 }; // ms between tries while the page is open
  const state = {
    base: given.base, farm: null, unsent: { count: 0, oldest: null, entries: [] }, sent: [], files: [], last: [],
    shut: "", login: "", why: "", isReady: false, isBroken: false, isLoaded: false, isAsking: true, asked: 0, installer: null,
  };
  let refreshers = [];
  let wait = WAITS.first;
  let timer = 0;

  // --- words, times, elements -----------------------------------------------------------------

  function language() {
    const person = state.farm && state.farm.person && state.farm.person.language;
    const wanted = (person || (state.farm && state.farm.farm.language) || document.documentElement.lang || "en").slice(0, 2);
    return WORDS[wanted] ? wanted : "en";
  }

  const t = (key, values = {}) => (WORDS[language()][key] || key).replace(/\{(\w+)\}/g, (hole, name) => (name in values ? values[name] : hole));
  const count = (key, n) => t(n === 1 ? `${key}_one` : `${key}_many`, { n });

  function time(iso, options = { weekday: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23" }) {
    const when = new Date(iso);
    if (Number.isNaN(when.getTime())) return String(iso || "");
    const zone = state.farm ? state.farm.farm.time_zone : undefined;
    return new Intl.DateTimeFormat(language(), { timeZone: zone, ...options }).format(when);
  }

  // A day without an hour is the same day everywhere.
  const day = (iso) => (/^\d{4}-\d\d-\d\d$/.test(iso || "")
    ? new Intl.DateTimeFormat(language(), { timeZone: "UTC", day: "numeric", month: "short", year: "numeric" }).format(new Date(iso))
    : iso || "");

  // An element: attributes, listeners (on…), and children; null and false are left out.
  function h(tag, attributes = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (value === null || value === undefined || value === false) continue;
      if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else element.setAttribute(name, value === true ? "" : value);
    }
    element.append(...children.flat(3).filter((child) => child !== null && child !== undefined && child !== false));
    return element;
  }

  const button = (sign, text, onclick, look = "") => h("button", { type: "button", class: look, onclick }, sign && Field.signs(sign), h("span", {}, text));
  const link = (sign, text, href, look = "") => h("a", { class: `as-button ${look}`, href }, sign && Field.signs(sign), h("span", {}, text));

  // A drawing that the farm sent, as elements; nothing that could run or load comes along.
  function drawing(text, isSmall = false) {
    const parsed = new DOMParser().parseFromString(text || "", "image/svg+xml").documentElement;
    if (!parsed || parsed.nodeName !== "svg") return null;
    for (const one of [parsed, ...parsed.querySelectorAll("*")]) {
      const isBad = /^(script|foreignobject|style|image|use|iframe)$/i.test(one.localName);
      if (isBad) one.remove();
      if (isSmall && /^(title|desc)$/.test(one.localName)) one.remove();
      const unwanted = isSmall ? /^on|href$|^(style|id|role|width|height)$|^aria-/i : /^on|href$|^(style|width|height)$/i;
      for (const { name } of [...one.attributes]) if (unwanted.test(name)) one.removeAttribute(name);
    }
    return document.importNode(parsed, true);
  }

  function say(text) {
    const place = document.getElementById("said");
    place.textContent = text;
    clearTimeout(say.timer);
    say.timer = setTimeout(() => { place.textContent = ""; }, 7000);
  }

  // Where one signs in, to come back here afterwards.
  function loginUrl() {
    const url = state.login || given.login;
    return `${url}${url.includes("?") ? "&" : "?"}next=${encodeURIComponent(state.base)}`;
  }

  // --- what is known ---------------------------------------------------------------------------

  const noFarm = () => t(state.isAsking ? "loading" : "no_data");
  const who = () => (state.farm ? { id: state.farm.person.id, name: state.farm.person.name } : null);
  const canWrite = () => !state.farm || state.farm.person.role !== "viewer";

  async function load() {
    try {
      const [kept, unsent, sent, login, last] = await Promise.all([
        store.get("bundle", state.base), store.unsent(), store.all("sent"), store.get("settings", "login"), store.get("settings", "last"),
      ]);
      state.farm = kept ? kept.data : null;
      Object.assign(state, { unsent, sent, login: login ? login.url : "", last: last ? last.places : [] });
      state.files = await loadFiles();
    } catch {
      state.isBroken = true;
    }
  }

  const loadFiles = async () => (state.unsent.count === state.unsent.entries.length ? [] : [
    ...(await store.all("photos")).map((row) => ({ ...row, what: "photo" })),
    ...(await store.all("voices")).map((row) => ({ ...row, what: "voice_note" })),
  ]);

  async function refresh() {
    await load();
    frame();
    refreshers.forEach((each) => each());
    plan();
  }

  async function fetchFarm() {
    Object.assign(state, { asked: Date.now(), isAsking: true });
    const kept = await store.get("bundle", state.base).catch(() => null);
    const headers = kept && kept.etag ? { "If-None-Match": kept.etag } : {};
    const answer = await queue.ask(`${state.base}bundle.json`, { headers }, 60000);
    state.isAsking = false;
    state.shut = { 401: "not_signed_in", 403: "not_member", 404: "not_member" }[answer.status] || "";
    if (answer.status === 401 && answer.body) {
      state.login = answer.body.login || "";
      await store.put("settings", { name: "login", url: state.login }).catch(() => {});
    }
    if (answer.status === 200 && answer.body && answer.body.doors) {
      if (kept && kept.data.person.id !== answer.body.person.id) await store.purge();
      await store.put("bundle", { base: state.base, etag: answer.etag, data: answer.body }).catch(() => {});
      const old = state.sent.filter((row) => row.base === state.base && Date.now() - new Date(row.now) > 2 * DAY);
      await Promise.all(old.map((row) => store.remove("sent", row.id)));
      await load();
      state.farm = answer.body;
      show({ isSame: true });
    } else if (state.farm) {
      frame();
    } else {
      show({ isSame: true });
    }
  }

  // Send what waits, now and again: later after each failure, and as soon as there is a way.
  async function send(isForced = false) {
    if (state.isBroken) return;
    const before = state.unsent.count;
    state.why = await queue.drain(isForced);
    await refresh();
    const isHeld = state.unsent.entries.some((row) => row.hold > Date.now() && !row.tries);
    if (state.unsent.count < before) wait = WAITS.first;
    else if (state.why ? state.why !== "busy" : !isHeld) wait = Math.min(2 * wait, WAITS.longest);
    plan();
    if (!state.why && state.unsent.count < before) await fetchFarm();
  }

  function plan() {
    clearTimeout(timer);
    if (!state.unsent.count) return;
    const holds = state.unsent.entries.filter((row) => row.hold > Date.now() && !row.tries).map((row) => row.hold - Date.now() + 50);
    timer = setTimeout(() => send(), Math.min(wait, ...holds));
  }

  // --- the frame -------------------------------------------------------------------------------

  function frame() {
    document.documentElement.lang = language();
    const { count: n, oldest } = state.unsent;
    const isOld = oldest && Date.now() - new Date(oldest) > DAY;
    const name = state.farm ? state.farm.farm.name : "Gablekeep";
    document.getElementById("bar").replaceChildren(
      h("a", { class: "bar-farm", href: "#", "aria-label": `${name}: ${t("start")}` }, Field.signs("home"), h("span", {}, name)),
      h("a", { class: `bar-unsent${n ? " is-waiting" : ""}`, href: "#unsent" }, Field.signs(n ? "waiting" : "sent"), h("span", {}, n ? count("unsent", n) : t("all_sent"))),
    );
    const login = loginUrl();
    const notices = [];
    if (state.isBroken) notices.push(h("p", {}, t("no_store")));
    if (state.shut === "not_signed_in" || (n && state.why === "signin")) {
      notices.push(h("p", {}, n ? t("sign_in_to_send") : t("not_signed_in"), " ", link("next", t("sign_in"), login)));
    }
    if (state.shut === "not_member") notices.push(h("p", {}, t("not_member"), " ", link("next", t("sign_in"), login)));
    if (isOld) {
      const late = state.unsent.entries.filter((row) => Date.now() - new Date(row.made_at) > DAY).length;
      notices.push(h("p", { class: "notice-old" }, Field.signs("danger"), h("a", { href: "#unsent" }, count("old", late))));
    }
    if (!canWrite()) notices.push(h("p", {}, t("viewer")));
    document.getElementById("notices").replaceChildren(...notices.map((one) => h("div", { class: "notice" }, one)));
  }

  // --- from page to page -----------------------------------------------------------------------

  function show({ isSame = false } = {}) {
    const [name, ...rest] = decodeURIComponent(location.hash.slice(1)).split("/");
    const made = Field.pages[name || "start"];
    if (!state.isLoaded || (!made && !Field.isWhole)) return; // its file is still on the way, and shows it
    const main = document.getElementById("page");
    if (isSame && main.dataset.at === location.hash && main.querySelector("form, fieldset, input")) return; // nothing typed is lost
    refreshers = [];
    frame();
    if (!isSame) say("");
    const { title, body, thumb } = (made || Field.pages.start)(...rest) || Field.pages.gone();
    const heading = h("h1", { tabindex: "-1" }, title);
    main.replaceChildren(heading, ...body.flat(3).filter(Boolean));
    main.dataset.at = location.hash;
    document.getElementById("thumb").replaceChildren(...(thumb || [link("home", t("start"), "#"), link("door", t("which_door"), "#doors", "primary")]).filter(Boolean));
    document.title = `${heading.textContent} · Gablekeep`;
    if (isSame) return;
    scrollTo(0, 0);
    heading.focus({ preventScroll: true });
  }

  // A part of a page that is drawn again whenever something was kept or sent.
  function live(make) {
    const place = h("div", { class: "live" });
    const draw = () => place.replaceChildren(...[make()].flat(3).filter(Boolean));
    refreshers.push(draw);
    draw();
    return place;
  }

  async function work() {
    if (!("serviceWorker" in navigator) || !self.isSecureContext) return;
    try {
      await navigator.serviceWorker.register(given.worker);
      const { active } = await navigator.serviceWorker.ready;
      navigator.serviceWorker.addEventListener("message", (event) => {
        if (event.data && event.data.kept === state.base) { state.isReady = true; refreshers.forEach((each) => each()); }
      });
      active.postMessage({ keep: state.base });
    } catch {
      state.isReady = false;
    }
  }

  async function logOut() {
    if (state.unsent.count && !confirm(t("log_out_unsent"))) return;
    const pass = new queue.Pass(state.base);
    await pass.enter();
    await store.purge();
    if (!pass.token && !navigator.onLine) {
      state.farm = null;
      show();
      say(t("log_out_offline"));
      return;
    }
    if (pass.token) await fetch(given.logout, { method: "POST", headers: { "X-CSRFToken": pass.token }, redirect: "manual" }).catch(() => {});
    location.assign(loginUrl());
  }

  async function begin() {
    await load();
    state.isLoaded = true;
    show();
    addEventListener("hashchange", () => show());
    addEventListener("online", () => { wait = WAITS.first; send(); });
    addEventListener("beforeinstallprompt", (event) => { event.preventDefault(); state.installer = event; refreshers.forEach((each) => each()); });
    document.addEventListener("visibilitychange", () => {
      const isLate = !document.hidden && Date.now() - state.asked > FRESH;
      send(document.hidden).then(() => (isLate ? fetchFarm() : null));
    });
    let soon = 0;
    store.onChange(() => { clearTimeout(soon); soon = setTimeout(refresh, 60); });
    await Promise.all([fetchFarm(), send()]);
    work();
  }

  return { state, noFarm, loginUrl, t, count, time, day, h, button, link, drawing, say, who, canWrite, live, frame, show, send, refreshed: refresh, logOut, begin };
})();

Field.page.begin();
