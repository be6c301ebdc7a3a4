/* What a page does beyond its forms: nothing that reading or logging needs. */
"use strict";
document.addEventListener("htmx:responseError", (event) => {
  const place = document.getElementById("trouble");
  if (place) { place.textContent = place.dataset.refused + " (" + event.detail.xhr.status + ")"; }
});
document.addEventListener("htmx:sendError", () => {
  const place = document.getElementById("trouble");
  if (place) { place.textContent = place.dataset.silent; }
});
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, textarea, select");
  if (event.key === "/" && !typing && !event.ctrlKey && !event.metaKey && !event.altKey) {
    const first = document.querySelector("[data-first]");
    if (first) { event.preventDefault(); first.focus(); }
  }
});
const begun = document.querySelector("input[autofocus]");
if (begun) { begun.setSelectionRange(begun.value.length, begun.value.length); }
