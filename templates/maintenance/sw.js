{% load static %}// Keeps the crew's page on the phone, knows the squares at the doors without signal, and shows the farm's alerts
// while no page is open. Of a person it keeps nothing: what a phone carries lies in IndexedDB and goes at a log-out.
"use strict";

importScripts("{% static 'farm/field-store.js' %}");

const PREFIX = "gablekeep-";
const RELEASE = `${PREFIX}{{ release }}`;
const FILES = [{% for file in files %}"{{ file }}"{% if not forloop.last %}, {% endif %}{% endfor %}];
const SHELL = /^\/farm\/[-\w]+\/field\/$/;
const LABEL = /^\/q\/([^/]+)\/?$/;
const FARM = /^\/farm\/[-\w]+\//;
const PATIENCE = 4000; // ms for a page over a weak signal, where there is something to show instead

self.addEventListener("install", (event) => event.waitUntil(fill().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(tidy().then(() => self.clients.claim())));

// Fetch this release, and anew each crew page that an earlier one kept.
async function fill() {
  const cache = await caches.open(RELEASE);
  await cache.addAll(FILES);
  const shells = (await Promise.all((await others()).map(shellsOf))).flat();
  await Promise.all([...new Set(shells)].map((path) => keep(path).catch(() => {})));
}

const others = async () => (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== RELEASE);

async function shellsOf(name) {
  const requests = await (await caches.open(name)).keys();
  return requests.map((request) => new URL(request.url).pathname).filter((path) => SHELL.test(path));
}

// An earlier release goes when nothing of it is needed: a crew page that could not be fetched anew still needs it.
async function tidy() {
  const fresh = await shellsOf(RELEASE);
  for (const name of await others()) {
    const shells = await shellsOf(name);
    if (shells.every((path) => fresh.includes(path))) await caches.delete(name);
  }
}

// Only the page itself is kept: a log-in page that comes in its place is not.
async function keep(path) {
  const answer = await fetch(path, { credentials: "same-origin", redirect: "manual", cache: "no-cache" });
  const isPage = answer.ok && (answer.headers.get("Content-Type") || "").startsWith("text/html");
  if (!isPage) throw new Error("not the crew's page");
  await (await caches.open(RELEASE)).put(path, answer);
}

async function kept(path) {
  return (await (await caches.open(RELEASE)).match(path)) || caches.match(path);
}

self.addEventListener("message", (event) => {
  const path = event.data && event.data.keep;
  if (typeof path !== "string" || !SHELL.test(path)) return;
  event.waitUntil((async () => {
    if (!(await (await caches.open(RELEASE)).match(path))) await keep(path);
    if (event.source) event.source.postMessage({ kept: path });
  })().catch(() => {}));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  const isPage = request.mode === "navigate";
  if (isPage && request.method === "POST" && pathname === "{% url 'logout' %}") event.waitUntil(Field.store.purge());
  if (request.method !== "GET") return;
  if (FILES.includes(pathname)) event.respondWith(kept(pathname).then((found) => found || fetch(request)));
  else if (isPage && SHELL.test(pathname)) event.respondWith(kept(pathname).then((found) => found || page(request)));
  else if (isPage && LABEL.test(pathname)) event.respondWith(label(request, decodeURIComponent(LABEL.exec(pathname)[1])));
  else if (isPage && FARM.test(pathname)) event.respondWith(page(request));
});

// Any other page of the farm: without signal the crew's page stands in for it.
async function page(request) {
  try {
    return await fetch(request);
  } catch {
    const base = await anyShell(new URL(request.url).pathname.replace(/^(\/farm\/[-\w]+\/).*/, "$1field/"));
    return base ? Response.redirect(base) : Response.error();
  }
}

async function anyShell(wanted) {
  if (wanted && await kept(wanted)) return wanted;
  const all = (await Promise.all((await caches.keys()).filter((name) => name.startsWith(PREFIX)).map(shellsOf))).flat();
  return wanted ? null : all[0];
}

// A square was scanned. The farm's computer knows best; without it the phone looks into what it carries.
async function label(request, token) {
  const asked = fetch(request);
  const here = await placeOfLabel(token).catch(() => null);
  if (!here) return asked;
  const late = new Promise((resolve, reject) => setTimeout(() => reject(new Error("late")), PATIENCE));
  return Promise.race([asked, late]).catch(() => Response.redirect(here));
}

async function placeOfLabel(token) {
  const carried = await Field.store.all("bundle");
  for (const { base, data } of carried) {
    for (const [kind, rows] of [["door", data.doors], ["tunnel", data.tunnels]]) {
      const found = rows.find((row) => (row.labels || []).includes(token));
      if (found && await kept(base)) return `${base}#${kind}/${found.id}`;
    }
  }
  const base = carried.length ? carried[0].base : await anyShell();
  return base && await kept(base) ? `${base}#label/${encodeURIComponent(token)}` : null;
}

self.addEventListener("push", (event) => {
  let said = {};
  try {
    said = event.data ? event.data.json() : {};
  } catch {
    said = {};
  }
  const options = { body: said.body || "", tag: said.tag || "gablekeep", icon: "{% static 'farm/icon-192.png' %}", data: { url: said.url || "/" } };
  event.waitUntil(self.registration.showNotification(said.title || "Gablekeep", options));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const url = new URL(event.notification.data.url, self.location.origin);
  if (url.origin !== self.location.origin) return;
  event.waitUntil(openPage(url.href));
});

async function openPage(href) {
  const pages = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const open = pages.find((page) => page.url === href);
  return open ? open.focus() : self.clients.openWindow(href);
}
