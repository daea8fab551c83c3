"use strict";

// Putting the tasks of a storm into another order by hand, with a mouse, a pen or a finger. A task is held by its grip;
// a line shows where it would stand, in the same list or another's; let go, the page's own form is sent. Nothing moves
// before the server has said so. The buttons below each task do the same from a keyboard, and without this file.
(() => {
  const form = document.querySelector("[data-order-form]");
  if (!form) return;
  const EDGE = 60; // px from the edge of the window at which the page moves on
  const STEP = 12; // px at each frame
  const line = document.createElement("li");
  line.className = "plan-line";
  line.setAttribute("aria-hidden", "true");
  let held = null; // the task that is held, and where the pointer is

  document.querySelectorAll("[data-grip]").forEach((grip) => {
    grip.hidden = false;
    grip.addEventListener("pointerdown", take);
  });
  document.addEventListener("pointermove", (event) => {
    if (held?.pointer === event.pointerId) held.at = [event.clientX, event.clientY];
  });
  document.addEventListener("pointerup", (event) => { if (held?.pointer === event.pointerId) letGo(true); });
  document.addEventListener("pointercancel", (event) => { if (held?.pointer === event.pointerId) letGo(false); });
  document.addEventListener("keydown", (event) => { if (held && event.key === "Escape") letGo(false); });

  function take(event) {
    if (held || event.button > 0) return;
    const item = event.currentTarget.closest("[data-task]");
    held = { item, pointer: event.pointerId, at: [event.clientX, event.clientY], from: [event.clientX, event.clientY] };
    event.preventDefault(); // no text is marked
    item.classList.add("plan-held");
    requestAnimationFrame(follow);
  }

  // The line follows frame by frame: the page may move below a pointer that rests.
  function follow() {
    if (!held) return;
    const [x, y] = held.at;
    if (y < EDGE) window.scrollBy(0, -STEP);
    if (y > window.innerHeight - EDGE) window.scrollBy(0, STEP);
    show(x, y);
    requestAnimationFrame(follow);
  }

  function show(x, y) {
    const list = document.elementFromPoint(x, y)?.closest("[data-order]");
    if (!list) return;
    const next = [...list.querySelectorAll("[data-task]")].find((one) => {
      const box = one.getBoundingClientRect();
      return y < box.top + box.height / 2;
    });
    if (line.parentElement !== list || line.nextElementSibling !== (next || null)) list.insertBefore(line, next || null);
  }

  function letGo(isMeant) {
    const { item, at, from } = held;
    if (isMeant && (at[0] !== from[0] || at[1] !== from[1])) show(...at);
    held = null;
    item.classList.remove("plan-held");
    const list = line.parentElement;
    const next = line.nextElementSibling;
    const stays = !list || next === item || line.previousElementSibling === item;
    line.remove();
    if (!isMeant || stays) return;
    form.elements.task.value = item.dataset.task;
    form.elements.to.value = list.dataset.order;
    form.elements.before.value = next?.dataset.task || "";
    form.requestSubmit();
  }
})();
