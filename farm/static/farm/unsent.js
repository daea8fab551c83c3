// On the farm's other pages: says how much this phone has not sent yet, sends it, and at a log-out forgets what the
// phone carries of the farm. What is unsent stays.
"use strict";

(() => {
  const said = document.currentScript.dataset;
  const { store } = self.Field;

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const action = form.getAttribute("action") || ""; // a button named "action" would stand before form.action
    if (new URL(action, location.href).pathname !== said.logout || form.dataset.isPurged) return;
    event.preventDefault();
    form.dataset.isPurged = "1";
    store.purge().catch(() => {}).then(() => form.submit());
  });

  const note = document.createElement("p");
  note.className = "unsent no-print";

  async function show() {
    const { count } = await store.unsent();
    const link = document.createElement("a");
    link.href = `${said.field}#unsent`;
    link.textContent = (count === 1 ? said.one : said.many).replace("{n}", count);
    note.replaceChildren(link);
    if (!count) note.remove();
    else if (!note.isConnected) document.getElementById("content").prepend(note);
    return count;
  }

  function sendWith(source) {
    const script = document.createElement("script");
    script.src = source;
    script.addEventListener("load", () => {
      const send = () => self.Field.queue.drain();
      addEventListener("online", send);
      document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
      store.onChange(() => show());
      send();
    });
    document.head.append(script);
  }

  if (said.field) show().then((count) => { if (count) sendWith(said.queue); }).catch(() => {});
})();
