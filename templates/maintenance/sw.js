// Shows the farm's alerts while no page is open. A second one with the same tag takes the place of the first.
"use strict";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("push", (event) => {
  let said = {};
  try {
    said = event.data ? event.data.json() : {};
  } catch {
    said = {};
  }
  const options = { body: said.body || "", tag: said.tag || "gablekeep", data: { url: said.url || "/" } };
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
