"use strict";

// The button that turns alerts on for this browser. Without this file the page says that they need a script.
(() => {
  const box = document.querySelector("[data-push]");
  if (!box) return;
  const button = box.querySelector("button");
  const words = box.querySelector("[data-words]");
  const said = box.dataset;
  let subscription = null;

  const octets = (text) => {
    const plain = atob(text.replace(/-/g, "+").replace(/_/g, "/").padEnd(Math.ceil(text.length / 4) * 4, "="));
    return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
  };

  const say = (text) => { words.textContent = text; };

  const show = () => {
    button.hidden = false;
    button.disabled = false;
    button.textContent = subscription ? said.turnOff : said.turnOn;
    say(subscription ? said.isOn : said.isOff);
  };

  const cannot = (text) => {
    button.hidden = true;
    say(text);
  };

  async function post(body) {
    const token = document.querySelector("[name=csrfmiddlewaretoken]").value;
    const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
    const answer = await fetch(said.url, { method: "POST", headers, body: JSON.stringify(body) });
    if (answer.ok) return;
    const told = await answer.json().catch(() => ({}));
    throw new Error(told.error || said.failed);
  }

  function deviceName() {
    const data = navigator.userAgentData;
    if (data && data.platform) return `${data.platform}${data.mobile ? ", phone" : ""}`;
    const found = /iPhone|iPad|Android|Windows|Macintosh|Linux/.exec(navigator.userAgent);
    return found ? found[0] : "";
  }

  async function turnOn(registration) {
    const allowed = await Notification.requestPermission();
    if (allowed !== "granted") {
      cannot(said.denied);
      return;
    }
    const options = { userVisibleOnly: true, applicationServerKey: octets(said.key) };
    const fresh = await registration.pushManager.subscribe(options);
    try {
      await post({ ...fresh.toJSON(), device: deviceName() });
    } catch (error) {
      await fresh.unsubscribe();
      throw error;
    }
    location.reload();
  }

  async function turnOff() {
    await post({ off: true, endpoint: subscription.endpoint });
    await subscription.unsubscribe();
    location.reload();
  }

  async function begin() {
    if (!window.isSecureContext) return cannot(said.insecure);
    if (!("serviceWorker" in navigator) || !("PushManager" in window) || !("Notification" in window)) {
      return cannot(/iPhone|iPad/.test(navigator.userAgent) ? said.install : said.unable);
    }
    if (Notification.permission === "denied") return cannot(said.denied);
    const registration = await navigator.serviceWorker.register(said.worker);
    const kept = await registration.pushManager.getSubscription();
    const known = Array.from(document.querySelectorAll("[data-endpoint]"), (row) => row.dataset.endpoint);
    subscription = kept && known.includes(kept.endpoint) ? kept : null;
    show();
    button.addEventListener("click", async () => {
      button.disabled = true;
      say(said.working);
      try {
        await (subscription ? turnOff() : turnOn(registration));
      } catch (error) {
        show();
        say(`${said.failed} ${error.message}`);
      }
    });
    return undefined;
  }

  begin().catch(() => cannot(said.failed));
})();
