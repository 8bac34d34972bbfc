"use strict";
// What every page does: change units, sort tables, copy a place, print all of it.
const root = document.documentElement;
// Every text is written in both systems of units.
function units() { return root.dataset.units; }
function words(el) { return el.dataset[units()]; }
(function () {
  function setUnits(name) {
    root.dataset.units = name;
    for (const el of document.querySelectorAll(".q, text[data-us]")) el.textContent = words(el);
    for (const b of document.querySelectorAll("[data-set]")) b.setAttribute("aria-pressed", String(b.dataset.set === name));
    document.dispatchEvent(new Event("units"));
  }
  for (const b of document.querySelectorAll("[data-set]")) b.addEventListener("click", () => setUnits(b.dataset.set));

  // The heads of a sorting table are buttons: once for the order that puts the
  // most first, again for the other.
  function key(row, i) {
    const cell = row.cells[i];
    const by = cell.dataset.by === undefined ? cell.textContent : cell.dataset.by;
    const number = Number(by);
    return by !== "" && Number.isFinite(number) ? number : by;
  }
  function compare(a, b) {
    if (typeof a === typeof b) return typeof a === "number" ? a - b : a.localeCompare(b, "en", { numeric: true });
    return typeof a === "number" ? 1 : -1;
  }
  for (const table of document.querySelectorAll("table[data-sorts]")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, i) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const figure = head.classList.contains("fig");
        const now = head.getAttribute("aria-sort");
        const down = now ? now === "ascending" : figure;
        for (const h of heads) h.removeAttribute("aria-sort");
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const body = table.tBodies[0];
        const rows = [...body.rows].map(row => [key(row, i), row]);
        rows.sort((a, b) => (down ? compare(b[0], a[0]) : compare(a[0], b[0])));
        body.append(...rows.map(r => r[1]));
      });
    });
  }
  // A place is copied for a map that knows no link to it. Where the browser keeps the
  // clipboard to itself, the button shows the place, to be typed.
  async function copy(text) {
    try { await navigator.clipboard.writeText(text); return true; } catch (_) { /* not from a file, in some */ }
    const area = document.createElement("textarea");
    area.value = text;
    area.className = "aside";
    document.body.append(area);
    area.select();
    const done = document.execCommand("copy");
    area.remove();
    return done;
  }
  for (const b of document.querySelectorAll("[data-copy]")) b.addEventListener("click", async () => {
    const text = b.textContent;
    b.textContent = (await copy(b.dataset.copy)) ? "copied" : b.dataset.copy;
    if (b.textContent === "copied") setTimeout(() => { b.textContent = text; }, 2000);
  });
  // A page that prints as less than it shows prints all of it at the address "#all";
  // without this script one goes there and prints.
  for (const a of document.querySelectorAll("[data-print]")) a.addEventListener("click", () => setTimeout(print));
  addEventListener("afterprint", () => { if (location.hash === "#all") location.hash = "#printed"; });
  setUnits(units());
})();
