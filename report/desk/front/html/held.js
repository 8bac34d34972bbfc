// What the book of the desk holds beside the fields above: one can be brought here, with
// its files, and what was found of it is not worked out again.
desk.drawn = s => {
  $("held").hidden = !s.book;
  if (!s.book) return;
  if ($("held-find").value) findHeld(); else drawHeld(s.book);
};
function drawHeld(book) {
  const rest = book.all - book.fields.length, found = $("held-find").value;
  $("held-says").textContent = book.trouble ? book.trouble :
    book.all ? count(book.all, "field") + (found ? " of that name" : "") + (book.all === 1 ? " that is" : " that are") + " not on this desk." + (rest ? " The " + book.fields.length + " that were worked last:" : "") :
    found ? "No field of that name." : "No field that is not on this desk.";
  $("helds").replaceChildren(...book.fields.map(f => el("li", {},
    named(f.field), ", ", days(f), f.days[0] ? " (UTC), " : ", ", ...f.machines.flatMap(m => [named(m), ", "]), f.area, " ",
    el("button", { type: "button", "aria-label": "Bring it here: " + f.field + ", " + days(f), onclick: () => bringHeld(f) }, "Bring it here"))));
}
async function bringHeld(f) {
  halted = false;
  if (!await change("Bringing " + f.field + " from the book", { do: "fetch", key: f.key })) return;
  say(f.field + " is here, with its files.");
  $("fields-h").focus();
}
let finding = 0;
function findHeld() {
  clearTimeout(finding);
  finding = setTimeout(async () => {
    try { drawHeld(await work("Looking in the book", () => ask({ do: "held", find: $("held-find").value }))); } catch (wrong) { stopped(wrong); }
  }, 250);
}
$("held-find").addEventListener("input", findHeld);
