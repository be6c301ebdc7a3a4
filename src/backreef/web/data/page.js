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

/* The ribbon: a click leads to the season or the day beneath it; arrow keys lead along seasons and days. */
document.querySelectorAll("[data-ribbon]").forEach((place) => {
  const picture = place.querySelector(".for-wide > svg.chart, .for-wide svg.chart");
  const frame = picture && picture.querySelector(".border-frame");
  if (!frame) { return; }
  picture.classList.add("leads-on");
  picture.addEventListener("click", (event) => {
    const box = frame.getBoundingClientRect();
    const share = (event.clientX - box.left) / box.width;
    if (share < 0 || share >= 1) { return; }
    const on = new Date(place.dataset.first + "T00:00:00Z");
    on.setUTCDate(on.getUTCDate() + Math.floor(share * Number(place.dataset.days)));
    const day = on.toISOString().slice(0, 10);
    const link = document.querySelector("[data-day='" + day + "']");
    if (link) { link.focus(); link.scrollIntoView({ block: "nearest" }); return; }
    const quarter = Math.floor(on.getUTCMonth() / 3) * 3 + 1;
    window.location.href = place.dataset.seasonAddress
      ? place.dataset.seasonAddress + on.getUTCFullYear() + "-" + quarter + "/"
      : place.dataset.dayAddress + day + "/";
  });
});
const steps = { ArrowLeft: -1, ArrowRight: 1, ArrowUp: -7, ArrowDown: 7 };
document.addEventListener("keydown", (event) => {
  if (!(event.key in steps) || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) { return; }
  const day = event.target.closest("[data-day]");
  if (day) {
    const on = new Date(day.dataset.day + "T00:00:00Z");
    on.setUTCDate(on.getUTCDate() + steps[event.key]);
    const other = document.querySelector("[data-day='" + on.toISOString().slice(0, 10) + "']");
    if (other) { event.preventDefault(); other.focus(); }
    return;
  }
  if (event.target.closest("input, textarea, select, summary, .scroll")) { return; }
  const way = { ArrowLeft: "prev", ArrowRight: "next", ArrowUp: "" }[event.key];
  const link = way && document.querySelector("main a[rel='" + way + "']");
  if (link) { event.preventDefault(); link.click(); }
});
