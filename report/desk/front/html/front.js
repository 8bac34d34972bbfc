// The desk: files in, questions, fields, pages. What is shown is what the core said
// last; every change is asked of it.
const desk = { units: "us", state: null, answers: new Map(), busy: null };

// ask asks the core. What it cannot do is an error with its one line.
async function ask(message, progress) {
  const bytes = await carrier.ask(message, progress);
  let reply;
  try { reply = JSON.parse(new TextDecoder().decode(bytes)); } catch (_) { throw new Error("found an answer that is none, want to try again"); }
  if (reply && reply.error) throw new Error(reply.error.text || reply.error.found);
  return reply;
}

// file brings the bytes of a file of the desk, or of what a message makes.
async function fileOf(message, type) {
  const bytes = await carrier.ask(message, doing);
  if (bytes.length < 1 << 20 && bytes[0] === 123) { // an error is JSON that says so and no more
    try {
      const reply = JSON.parse(new TextDecoder().decode(bytes));
      if (reply.error && Object.keys(reply).length === 1 && reply.error.found !== undefined) throw Object.assign(new Error(reply.error.text), { told: true });
    } catch (wrong) { if (wrong.told) throw wrong; }
  }
  return new Blob([bytes], { type });
}

function say(text) { $("says").textContent = text; }
function trouble(wrong) {
  const text = wrong ? String(wrong.message || wrong) : "";
  $("trouble").textContent = text;
  $("trouble").hidden = !text;
}

// One line says what is being done, and lets it be stopped.
function doing(text, share) {
  $("working").hidden = !text;
  if (!text) return;
  $("doing").textContent = text.charAt(0).toUpperCase() + text.slice(1);
  if (share > 0) $("share").value = share; else $("share").removeAttribute("value");
}
let queue = Promise.resolve();
// work does one thing after another: the core answers one question at a time.
function work(text, what) {
  const turn = queue.then(async () => {
    doing(text, 0);
    try {
      return await what();
    } finally { doing(""); }
  });
  queue = turn.catch(() => {});
  return turn;
}
// change asks for a change and shows what has become.
function change(text, message, more) {
  return work(text, async () => {
    trouble();
    const state = await ask(message, doing);
    take(state);
    return state;
  }).then(() => { if (!more) settle(); return true; }, wrong => { stopped(wrong); settle(); return false; });
}
function stopped(wrong) {
  if (wrong && wrong.name === "AbortError") { say("Stopped. Nothing was lost."); return; }
  trouble(wrong);
}

function take(state) {
  desk.state = state;
  desk.units = state.units === "metric" ? "metric" : "us";
  document.documentElement.dataset.units = desk.units;
  draw();
}

// settle works out what can be: each field that is ready and has changed.
let settling = false, halted = false;
async function settle() {
  if (settling || halted || !desk.state) return;
  settling = true;
  let some = false;
  try {
    for (;;) {
      const next = desk.state.jobs.find(j => j.ready && !j.error && !failed.has(j.job) && (!j.assessed || j.assessed.stale));
      if (!next || halted) break;
      try {
        const answer = await assess(next.job);
        // What else is new, a look at the end tells: it reads all files again.
        const job = desk.state.jobs.find(j => j.job === next.job);
        if (job) job.assessed = { verdict: answer.verdict, page: answer.page, files: tables(answer), stale: false };
        some = true;
      } catch (wrong) {
        if (wrong.name === "AbortError") { halted = true; stopped(wrong); break; }
        failed.set(next.job, String(wrong.message || wrong));
      }
      draw();
    }
    if (some) await work("Looking at the files", async () => take(await ask({ do: "look" })));
  } catch (wrong) { stopped(wrong); } finally { settling = false; }
  draw();
}
// tables are the files of an answer that are for other programs.
function tables(answer) { return (answer.files || []).filter(f => !/\.html$/.test(f)).map(f => "pages/" + f); }
const failed = new Map(); // fields that could not be worked out as they are, and why

function assess(name) {
  const job = desk.state.jobs.find(j => j.job === name);
  return work("Working out " + (job ? job.field || name : name), async () => {
    const answer = await ask({ do: "assess", job: name }, doing);
    desk.answers.set(name, answer);
    say((job ? job.field + ": " : "") + answer.verdict);
    return answer;
  });
}

// Adding files. Each is kept as it comes; a file that cannot be kept is told in a line.
let adding = null;
async function add(files) {
  if (!files.length) return;
  if (adding) { adding.more.push(...files); return; }
  adding = { more: [...files], stop: new AbortController() };
  let count = 0;
  try {
    while (adding.more.length && !adding.stop.signal.aborted) {
      const { path, file } = adding.more.shift();
      $("coming").hidden = false;
      $("coming-says").replaceChildren("Adding ", named(path), adding.more.length ? " (" + adding.more.length + " to come)" : "");
      $("coming-share").value = 0;
      try {
        await carrier.addFile(path, typeof file === "function" ? await file() : file, share => { $("coming-share").value = share; }, adding.stop.signal);
        count++;
      } catch (wrong) {
        if (!adding.stop.signal.aborted) bad(path, String(wrong.message || wrong));
      }
    }
  } finally {
    $("coming").hidden = true;
    adding = null;
  }
  halted = false;
  failed.clear();
  say(count === 1 ? "1 file added." : count + " files added.");
  await change("Looking at the files", { do: "look" });
}
const refused = new Map(); // files that could not be kept, and why
function bringing() { refused.clear(); drawBad(); }
function bad(path, why) { refused.set(path, why); drawBad(); }
function drawBad() {
  const broken = ((desk.state && desk.state.left) || []).filter(l => !l.other).map(l => [asDropped(l.path), l.why]);
  $("bad").replaceChildren(...[...refused, ...broken].map(([path, why]) => el("li", {}, named(path), ": ", named(why))));
}

// What a drop holds: files, and folders with all that is in them. What is not asked for
// in the event itself is gone after it. To a page from a file Chromium opens no folder
// that is dropped in the older of two ways, and no file in it.
const mostDropped = 20000;
async function dropped(transfer) {
  const items = [...(transfer.items || [])].filter(i => i.kind === "file").map(i => ({
    file: i.getAsFile(), entry: i.webkitGetAsEntry && i.webkitGetAsEntry(), handle: Promise.resolve(i.getAsFileSystemHandle && i.getAsFileSystemHandle()).catch(() => null),
  }));
  if (!items.length) return [...transfer.files].map(file => ({ path: file.name, file }));
  const out = [];
  for (const { file, entry, handle } of items) {
    if (!entry || entry.isFile) { if (file) out.push({ path: file.name, file }); continue; }
    const before = out.length;
    try {
      await walkEntry(entry, out);
    } catch (_) {
      out.length = before;
      try { await walkHandle(await handle, "", out); } catch (_) { bad(entry.name, "a folder that this browser does not open when it is dropped: choose it with the button instead"); }
    }
  }
  return out;
}
async function walkEntry(entry, out) {
  if (out.length >= mostDropped) return;
  if (entry.isFile) { out.push({ path: entry.fullPath.replace(/^\//, ""), file: () => new Promise((done, fail) => entry.file(done, fail)) }); return; }
  const reader = entry.createReader();
  for (;;) {
    const part = await new Promise((done, fail) => reader.readEntries(done, fail));
    if (!part.length) return;
    for (const e of part) {
      try { await walkEntry(e, out); } catch (wrong) { bad(e.fullPath.replace(/^\//, ""), "a folder that cannot be read: " + wrong.message); }
    }
  }
}
async function walkHandle(handle, above, out) {
  if (out.length >= mostDropped) return;
  const path = above + handle.name;
  if (handle.kind === "file") { out.push({ path, file: () => handle.getFile() }); return; }
  for await (const one of handle.values()) await walkHandle(one, path + "/", out);
}

// Drawing what there is.
function days(j) {
  const [from, to] = j.days || ["", ""];
  return !from ? "no date" : from === to ? from : from + " to " + to;
}
function count(n, one, many) { return n + " " + (n === 1 ? one : many || one + "s"); }
function jobLink(j) { return "#field=" + encodeURIComponent(j.job); }

function draw() {
  const s = desk.state;
  if (!s) return;
  const kept = remember();
  const left = s.left || [], finds = s.finds || [], jobs = s.jobs || [];
  const empty = !finds.length && !left.length && !jobs.length;
  $("undo").hidden = !s.undo;
  $("undo").replaceChildren("Undo", s.undo ? ": " : "", named(s.undo || ""));
  $("export").hidden = empty;
  for (const b of document.querySelectorAll("[data-set]")) b.setAttribute("aria-pressed", String(b.dataset.set === desk.units));

  const others = left.filter(l => l.other);
  drawBad();
  $("seen").hidden = !finds.length;
  $("seen-says").textContent = count(finds.length, "file") + " understood: what each is";
  $("finds").replaceChildren(...finds.map(f => el("li", {},
    f.drawing ? sketch(f.drawing, "Drawing of " + f.path.split("/").pop()) : el("span", {}),
    el("div", {}, el("h3", {}, named(asDropped(f.path))), el("p", {}, named(f.sentence)), el("p", { class: "small" }, f.format)))));
  $("left").hidden = !others.length;
  $("left-says").textContent = count(others.length, "other file") + (others.length === 1 ? " says nothing of fields" : " say nothing of fields");
  $("lefts").replaceChildren(...others.map(l => el("li", {}, named(asDropped(l.path)), l.why ? ": " + l.why : "")));

  drawQuestions(s);

  $("how").hidden = !empty;
  const guesses = (s.questions || []).length;
  $("look").hidden = !guesses || (s.questions || []).some(q => q.sure === "unknown");
  $("look").textContent = "Look at " + count(guesses, "guess", "guesses");
  $("fields").hidden = !jobs.length;
  $("cards").replaceChildren(...jobs.map(card));
  $("books").hidden = jobs.length < 1;
  $("compare").hidden = jobs.length < 2;
  if (desk.drawn) desk.drawn(s);
  restore(kept);
  if (where().field) showField(where().field, false);
}

// What a person was typing, and where, lives through a new drawing.
function remember() {
  const kept = { values: new Map(), focus: document.activeElement && document.activeElement.id };
  for (const i of document.querySelectorAll("#questions input, #questions select")) if (i.dataset.touched) kept.values.set(i.id, [i.value, i.checked, i.dataset.asks]);
  return kept;
}
function restore({ values, focus }) {
  for (const [id, [value, checked, asks]] of values) {
    const i = $(id);
    if (!i || i.dataset.asks !== asks) continue;
    i.dataset.touched = "1";
    if (i.type === "radio") i.checked = checked; else { i.value = value; i.dispatchEvent(new Event("input")); }
  }
  if (focus && $(focus) && document.activeElement !== $(focus)) $(focus).focus({ preventScroll: true });
}

function drawQuestions(s) {
  const open = s.questions || [];
  $("ask").hidden = !open.length;
  if (!open.length) { $("questions").replaceChildren(); return; }
  const needed = open.filter(q => q.sure === "unknown").length;
  $("ask-h").textContent = needed ? "Questions" : "Guesses to look at";
  $("ask-says").textContent = needed ? count(needed, "answer") + (needed === 1 ? " is" : " are") + " needed before all fields can be worked out. The rest is filled in as well as the files tell; put right what is wrong." :
    "The fields are worked out with these. Put right what is wrong; what is right is not asked again.";
  // What hinders stands before the fields, what does not after them.
  if (needed) $("fields").before($("ask")); else $("fields").after($("ask"));
  const form = questionForm(open, s.jobs || []), unfolded = $("more-questions") && $("more-questions").open;
  $("questions").replaceChildren(...form.boxes);
  if (unfolded && $("more-questions")) $("more-questions").open = true;
  $("questions").onsubmit = async e => {
    e.preventDefault();
    const answers = form.values($("questions"));
    halted = false;
    failed.clear();
    // Those of one file go together: one change, one undo.
    const files = new Map();
    for (const { q, value } of answers) {
      const at = q.job || q.machine || "";
      if (!files.has(at)) files.set(at, { do: "answer", job: q.job, machine: q.machine, set: {} });
      files.get(at).set[q.key] = value;
    }
    for (const i of $("questions").querySelectorAll("input, select")) delete i.dataset.touched;
    for (const message of files.values()) {
      if (!await change("Writing the answers", message, message !== [...files.values()].pop())) { $("trouble").scrollIntoView({ block: "center" }); return; }
    }
    $("fields-h").focus();
  };
}

function card(j) {
  const a = j.assessed;
  const verdict = failed.get(j.job) || (j.error && j.error.text);
  return el("li", {},
    sketch(j.sketch, "Sketch of " + j.field),
    el("div", {},
      el("h3", {}, el("a", { href: jobLink(j) }, named(j.field || j.job))),
      el("p", { class: "small" }, named(days(j)), (j.machines || []).length ? "; " : "", ...(j.machines || []).flatMap((m, i) => [i ? ", " : "", named(m.name)])),
      verdict ? el("p", { class: "wrong" }, named(verdict)) :
        a && !a.stale ? el("p", { class: "answer" }, named(a.verdict)) :
        el("p", {}, j.ready ? (halted ? "Stopped before it was worked out." : "To be worked out.") : "Waits for an answer above."),
      a && !a.stale && !verdict ? restsOn(j) : null,
      el("ul", { class: "reads" },
        a && !a.stale ? el("li", {}, el("a", { href: "#page=" + encodeURIComponent(a.page) }, "The report")) : null,
        j.ready && !verdict && (!a || a.stale) && halted ? el("li", {}, el("button", { type: "button", onclick: () => { halted = false; settle(); } }, "Work it out")) : null)));
}

// restsOn says which guesses a verdict rests on.
function restsOn(j) {
  return j.guesses.length ? el("p", { class: "small guesses" }, "With ", named(j.guesses.join("; ")), ".") : null;
}

// Where the address says that the page is.
function where() {
  const at = {};
  for (const part of location.hash.slice(1).split("&")) {
    const i = part.indexOf("=");
    if (i > 0) try { at[part.slice(0, i)] = decodeURIComponent(part.slice(i + 1)); } catch (_) { /* not ours */ }
  }
  return at;
}
function go() {
  if (!desk.state) return;
  const at = where();
  const views = { field: at.field, pair: at.pair, paper: at.page };
  $("desk").hidden = Boolean(at.field || at.pair || at.page);
  for (const [id, on] of Object.entries(views)) $(id).hidden = !on;
  if (!at.page) $("sheet").replaceChildren();
  if (!at.field) shownField = "";
  if (at.field) showField(at.field, true);
  else if (at.pair !== undefined) showPair(at.pair);
  else if (at.page) showPage(at.page);
  else scrollTo(0, lastAt);
}
let lastAt = 0;
addEventListener("hashchange", go);
addEventListener("scroll", () => { if (!$("desk").hidden) lastAt = scrollY; }, { passive: true });

// One field: its sketch, its verdict, its pages, its boundary.
let shownField = "", tool = null;
async function showField(name, fresh) {
  const j = desk.state.jobs.find(one => one.job === name);
  const box = $("field");
  if (!j) { box.replaceChildren(el("p", {}, "This field is not on the desk any more. "), el("a", { href: "#" }, "All fields")); return; }
  if (!fresh && shownField === name && tool) return; // someone is drawing
  shownField = name;
  const a = j.assessed && !j.assessed.stale ? j.assessed : null;
  const reads = el("ul", { class: "reads" });
  if (a) {
    reads.append(el("li", {}, el("a", { class: "strong", href: "#page=" + encodeURIComponent(a.page) }, "The report")));
    for (const [what, label] of [["last", "Did the last pass join"], ["mend", "The drive back to the skips"]]) {
      reads.append(el("li", {}, el("button", { type: "button", "data-do": what, onclick: () => makePage({ do: what, job: name }, label) }, label)));
    }
  }
  const svg = sketch(j.sketch, "Sketch of " + j.field + ": boundary, and the ways of the bars as wide as they work");
  const close = () => { tool = null; showField(name, true); };
  const changed = async message => { if (await change("Changing the boundary", { do: "boundary", job: name, ...message })) { tool = null; showField(name, true); say("Changed. Undo takes it back."); } };
  const open = make => { tool = make(j, changed, close); body.replaceChildren(tool); tool.querySelector("h3").focus(); };
  const grounds = el("div", { class: "choosers", role: "group", "aria-label": "The boundary" });
  if (j.sketch) {
    if ((j.boundary || []).length) {
      grounds.append(el("button", { type: "button", id: "to-shift", onclick: () => open(shifter) }, "Move it"),
        el("button", { type: "button", id: "to-hole", onclick: () => open((job, t, l) => drawer(job, "hole", t, l)) }, "Take ground out"));
    } else {
      grounds.append(el("button", { type: "button", id: "to-worked", onclick: () => changed({ worked: true, keep: true }) }, "Make one of the worked ground"));
    }
    grounds.append(el("button", { type: "button", id: "to-ring", onclick: () => open((job, t, l) => drawer(job, "ring", t, l)) }, (j.boundary || []).length ? "Draw another" : "Draw it"));
  }
  const says = failed.get(name) || (j.error && j.error.text);
  const body = el("div", { class: "two" },
    el("div", { class: "large" }, svg, scaleLine(svg)),
    el("div", {},
      says ? el("p", { class: "wrong" }, named(says)) : el("p", { class: "answer", id: "verdict" }, named(a ? a.verdict : j.ready ? "Being worked out." : "This field waits for an answer: see the questions on the desk.")),
      a && !says ? restsOn(j) : null,
      reads,
      j.suspects && !j.shift ? el("p", { class: "wrong" }, named(j.suspects.text)) : null,
      el("h3", {}, "The boundary"),
      el("p", { class: "small" }, (j.boundary || []).length ? el("bdi", {}, j.boundary.map(asDropped).join(", ")) : "None: the outer edge of the worked ground stands in for it. Ground that was left out along the edge cannot be seen.",
        j.shift ? " The tracks are measured " + shiftText(j.shift.east_m, j.shift.north_m) : ""),
      grounds,
      a ? el("h3", {}, "Files for other programs") : null,
      a ? el("ul", { class: "reads" }, ...a.files.map(f => el("li", {}, el("button", { type: "button", onclick: () => bring(f) }, named(f.split("/").pop()))))) : null,
      el("h3", {}, "Logs"),
      el("ul", { class: "lines" }, ...(j.machines || []).flatMap(m => (m.logs || []).map(l => el("li", {}, named(m.name), ": ", named(asDropped(l))))))));
  box.replaceChildren(
    el("div", { class: "bar" }, el("a", { class: "tap", href: "#" }, "All fields"), el("h2", { id: "field-h", tabindex: "-1" }, named(j.field || j.job))),
    el("dl", { class: "block" }, entry("Field", j.field), entry("Days", days(j)), entry("Machines", (j.machines || []).map(m => m.name).join(", ")), entry("Job file", j.job)),
    body);
  if (fresh) { $("field-h").focus({ preventScroll: true }); scrollTo(0, 0); }
}
function entry(name, text) { return el("div", {}, el("dt", {}, name), el("dd", {}, named(text || "-"))); }

// makePage has a page made, and shows it.
async function makePage(message, label) {
  try {
    const made = await work(label, () => { trouble(); return ask(message, doing); });
    const j = desk.state.jobs.find(one => one.job === message.job);
    if (j && j.assessed) j.assessed.files = [...new Set([...j.assessed.files, ...tables(made)])].sort();
    const page = made.page || (made.files || []).map(f => (f.startsWith("pages/") ? f : "pages/" + f)).find(f => f.endsWith(".html"));
    if (page) location.hash = "#page=" + encodeURIComponent(page); else trouble(made.text || "There is no page of this.");
  } catch (wrong) { stopped(wrong); }
}

// A page, as its document wrote it, in a frame. Its links lead on within the desk.
let paper = null;
async function showPage(name) {
  $("paper-h").textContent = "";
  $("sheet").replaceChildren();
  try {
    const blob = await work("Opening the page", () => fileOf({ do: "file", name }, "text/html"));
    if (where().page !== name) return;
    paper = { name, blob };
    // As srcdoc it is of this page's origin even where that is a file, so that its links
    // can be followed; its policy is this page's and its own, together.
    const frame = el("iframe", { srcdoc: await blob.text(), title: "The page" });
    frame.addEventListener("load", () => {
      const inside = frame.contentDocument;
      if (!inside) return;
      $("paper-h").textContent = inside.title;
      frame.title = inside.title;
      inside.addEventListener("click", e => {
        const link = e.target.closest && e.target.closest("a[href]");
        const href = link && link.getAttribute("href");
        if (!href || href.startsWith("#") || /^[a-z][a-z0-9+.-]*:/i.test(href)) return;
        e.preventDefault();
        follow(name, href);
      });
    });
    $("sheet").replaceChildren(frame);
    $("paper-h").focus({ preventScroll: true });
  } catch (wrong) { stopped(wrong); }
}
// follow opens what a page's link leads to: another page, or a file to save.
async function follow(from, href) {
  const [path, part] = href.split("#");
  const parts = from.split("/").slice(0, -1);
  for (const p of decodeURIComponent(path).split("/")) if (p === "..") parts.pop(); else if (p && p !== ".") parts.push(p);
  const name = parts.join("/");
  if (/\.html$/.test(name)) location.hash = "#page=" + encodeURIComponent(name) + (part ? "&part=" + encodeURIComponent(part) : "");
  else bring(name);
}
// bring saves a file of the desk.
async function bring(name) {
  try { save(await work("Opening " + name, () => fileOf({ do: "file", name }, "application/octet-stream")), name.split("/").pop()); } catch (wrong) { stopped(wrong); }
}
function save(blob, name) {
  const link = el("a", { href: URL.createObjectURL(blob), download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// Two fields, or two years of one, with one scale.
async function showPair(which) {
  const box = $("pair"), jobs = desk.state.jobs;
  const [first, second] = which.split("|");
  const pick = (id, label, now, other) => {
    const s = el("select", { id });
    for (const j of jobs) s.append(el("option", { value: j.job, selected: j.job === now }, (j.field || j.job) + ", " + days(j)));
    s.addEventListener("change", () => { location.hash = "#pair=" + encodeURIComponent([$("pair-a").value, $("pair-b").value].join("|")); });
    return el("label", { for: id }, label, s);
  };
  const a = jobs.some(j => j.job === first) ? first : jobs[0].job;
  const b = jobs.some(j => j.job === second) ? second : (jobs.find(j => j.job !== a) || jobs[0]).job;
  const body = el("div", {});
  box.replaceChildren(el("div", { class: "bar" }, el("a", { class: "tap", href: "#" }, "All fields"), el("h2", { id: "pair-h", tabindex: "-1" }, "Two side by side")),
    el("div", { class: "numbers-in" }, pick("pair-a", "One", a), pick("pair-b", "The other", b)), body);
  try {
    const both = await work("Comparing", () => { trouble(); return ask({ do: "compare", jobs: [a, b] }, doing); });
    body.replaceChildren(drawPair(both));
  } catch (wrong) { stopped(wrong); }
}
function drawPair(both) {
  const svgs = both.sides.map(s => sketch(s.drawing, "Map of " + s.field + ": skips, overlaps, ground outside the boundary, ground over which the log is silent"));
  const table = el("table", {}, el("caption", {}, "The figures of both"),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "Ground"), ...both.sides.map(s => el("th", { scope: "col" }, named(s.field + ", " + s.days))), el("th", { scope: "col" }, "the other has"))),
    el("tbody", {}, ...both.figures.map(f => el("tr", {}, el("th", { scope: "row" }, f.name), ...f.texts.map(t => el("td", {}, t)), el("td", {}, f.more || "")))));
  return el("div", {},
    el("div", { class: "two even" }, ...svgs.map((svg, i) => el("figure", { class: "large" }, svg, scaleLine(svg),
      el("figcaption", {}, el("h3", {}, el("a", { class: "tap", href: "#page=" + encodeURIComponent(both.sides[i].page) }, named(both.sides[i].field + ", " + both.sides[i].days))), el("p", {}, named(both.sides[i].verdict)))))),
    el("p", { class: "small" }, swatch("skip"), "skips ", swatch("overlap"), "worked twice or more ", swatch("overreach"), "outside the boundary ", swatch("unlogged"), "log silent. Both are drawn to one scale."),
    el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Figures of both" }, table));
}
function swatch(kind) {
  const s = shape("svg", { class: "swatch", viewBox: "0 0 38 20", "aria-hidden": "true" });
  s.append(shape("rect", { class: kind, x: 1, y: 1, width: 36, height: 18 }));
  return s;
}

// The controls that are always there.
$("undo").addEventListener("click", async () => {
  const what = desk.state.undo;
  failed.clear();
  if (await change("Taking it back", { do: "undo" })) say("Taken back: " + what);
});
let packed = null; // the state that was saved as a zip
async function pack() {
  const state = desk.state;
  try {
    save(await work("Packing", () => fileOf({ do: "export" }, "application/zip")), "lapwing.zip");
    packed = state;
  } catch (wrong) { stopped(wrong); }
}
$("export").addEventListener("click", pack);
for (const b of document.querySelectorAll("[data-set]")) b.addEventListener("click", () => change("Changing units", { do: "answer", key: "units", id: "units", value: b.dataset.set }));
$("look").addEventListener("click", () => { $("ask-h").scrollIntoView(); $("ask-h").focus(); });
$("season").addEventListener("click", () => makePage({ do: "season", all: true }, "The season book"));
$("waste").addEventListener("click", () => makePage({ do: "waste", all: true }, "What was wasted"));
$("compare").addEventListener("click", () => { location.hash = "#pair=|"; });
$("stop").addEventListener("click", () => { halted = true; carrier.cancel(); });
$("coming-stop").addEventListener("click", () => { if (adding) adding.stop.abort(); });
$("back").addEventListener("click", () => history.back());
$("print").addEventListener("click", () => { const f = document.querySelector("#sheet iframe"); if (f) f.contentWindow.print(); });
$("keep").addEventListener("click", () => { if (paper) save(paper.blob, paper.name.split("/").slice(-2).join("-")); });
$("pick-files").addEventListener("change", e => { bringing(); add([...e.target.files].map(file => ({ path: file.name, file }))); e.target.value = ""; });
$("pick-folder").addEventListener("change", e => { bringing(); add([...e.target.files].map(file => ({ path: file.webkitRelativePath || file.name, file }))); e.target.value = ""; });
$("folder-chooser").hidden = !("webkitdirectory" in $("pick-folder"));
document.querySelector(".to-main").addEventListener("click", e => { e.preventDefault(); (jobsThere() ? $("fields-h") : $("pick-files")).focus(); });
function jobsThere() { return desk.state && (desk.state.jobs || []).length > 0; }
$("questions").addEventListener("input", e => { e.target.dataset.touched = "1"; });
// A drop anywhere on the page is one; elsewhere the browser would open the file.
addEventListener("dragover", e => { e.preventDefault(); $("target").classList.add("over"); });
addEventListener("dragleave", e => { if (!e.relatedTarget) $("target").classList.remove("over"); });
addEventListener("drop", async e => {
  e.preventDefault();
  $("target").classList.remove("over");
  if (!$("desk").hidden || location.hash) location.hash = "";
  bringing();
  add(await dropped(e.dataTransfer));
});
// What the browser does not keep is gone with the page.
let perishes = false;
addEventListener("beforeunload", e => { if (adding || perishes && desk.state !== packed && !$("export").hidden) e.preventDefault(); });

// Opening the desk.
(async () => {
  doing("Opening the desk", 0);
  try {
    carrier.listen(news => {
      if (news.left) {
        halted = true;
        desk.state = null;
        for (const id of ["desk", "field", "pair", "paper", "undo", "export"]) $(id).hidden = true;
        elsewhere(() => location.reload());
      }
      if (news.storage === "") { perishes = false; $("storage").hidden = true; }
      if (news.storage) warnStorage("The browser could not keep what was changed (" + news.storage + "). Save all as a zip before you close this page.");
      if (news.error) bad(news.found, news.error.text);
      if (news.changed && !adding) lookSoon();
    });
    const storage = await carrier.open(elsewhere);
    const kept = storage ? false : await carrier.kept();
    if (storage) warnStorage(storage);
    else if (!kept) warnStorage("This browser may clear what it keeps for this page when room is short or it is long unused. Save all as a zip now and then.", true);
    doing("");
    $("desk").hidden = false;
    await change("Looking at the files", { do: "look" });
    go();
    if (carrier.warm && !jobsThere()) carrier.warm();
  } catch (wrong) {
    doing("");
    trouble("The engine of this page does not start here: " + (wrong.message || wrong) + ". A newer browser, or lapwing on a computer, can.");
  }
})();
// elsewhere says that another tab has the desk, and offers to have it here.
function elsewhere(bring) {
  $("storage").hidden = !bring;
  if (!bring) { doing("Opening the desk", 0); return; }
  doing("");
  $("storage").className = "care";
  $("storage").replaceChildren("This desk is open in another tab or window of this browser, and only one can change it. ", el("button", { type: "button", id: "bring", onclick: bring }, "Go on here"));
}
// Files that come one after the other are looked at together.
let soon = 0;
function lookSoon() {
  clearTimeout(soon);
  soon = setTimeout(() => change("Looking at the files", { do: "look" }), 500);
}
function warnStorage(text, mild) {
  perishes = perishes || !mild;
  $("storage").replaceChildren(text, " ", mild ? "" : el("button", { type: "button", onclick: pack }, "Save all as a zip"));
  $("storage").hidden = false;
  $("storage").className = mild ? "small" : "care";
}
