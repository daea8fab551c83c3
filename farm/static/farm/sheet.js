"use strict";

// Everything works without this file: it prints on a button, which the browser's own menu does too.
document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});
document.documentElement.classList.add("has-script");
