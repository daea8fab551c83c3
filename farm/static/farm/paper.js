"use strict";

// Typing paper sheets in without a mouse: Enter goes to the same field of the next row, Ctrl and Enter keeps all.
// Without this file Enter keeps all at once, as in any form.
document.addEventListener("keydown", (event) => {
  const form = event.target.closest("[data-paper]");
  if (!form || event.key !== "Enter" || event.target.matches("button")) return;
  event.preventDefault();
  if (event.ctrlKey || event.metaKey) {
    form.requestSubmit();
    return;
  }
  const cell = event.target.dataset.cell;
  if (!cell) return;
  const column = [...form.querySelectorAll(`[data-cell="${cell}"]`)];
  const next = column[column.indexOf(event.target) + (event.shiftKey ? -1 : 1)];
  if (next) next.focus();
});
