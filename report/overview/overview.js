// The map of all fields: what is drawn of a view comes from the server, a screen's worth at
// a time.
(function () {
  const map = document.getElementById("map");
  if (!map) return;
  const start = JSON.parse(document.getElementById("start").textContent);
  const status = document.getElementById("status");
  const panel = document.getElementById("chosen");
  const nothing = panel.firstElementChild;
  const list = document.getElementById("list");
  const drawn = map.querySelector(".drawn");
  const ruled = map.querySelector(".ruled");
  const sieve = document.querySelector(".sieve");
  const SVG = "http://www.w3.org/2000/svg";
  const classes = ["once", "unworked", "overlap", "skip"];
  const counted = ["with skips", "with laps", "not finished"];
  const needs = ["nothing of these", "not finished", "laps", "skips"];
  const zoomMost = 4e6, zoomLeast = 2; // pixels to a degree

  // The view: its middle in degrees of the map, and pixels to a degree.
  let box = start.box;
  let view = null;
  let shown = { items: [] }; // what is drawn, in the order of the list
  let at = -1; // which of them is chosen
  let asked = null; // the request that is under way

  function size() { return { w: Math.max(1, map.clientWidth), h: Math.max(1, map.clientHeight) }; }
  function whole() {
    const { w, h } = size();
    const wide = Math.max(box[2] - box[0], 1e-4), high = Math.max(box[3] - box[1], 1e-4);
    return { x: (box[0] + box[2]) / 2, y: (box[1] + box[3]) / 2, k: held(0.94 * Math.min(w / wide, h / high)) };
  }
  function held(k) { return Math.min(zoomMost, Math.max(zoomLeast, k)); }
  function px(x) { return (x - view.x) * view.k + size().w / 2; }
  function py(y) { return size().h / 2 - (y - view.y) * view.k; }
  function element(name, attributes, into) {
    const el = document.createElementNS(SVG, name);
    for (const k in attributes) el.setAttribute(k, attributes[k]);
    if (into) into.append(el);
    return el;
  }

  // Until what is asked for has come, what is drawn moves with the view.
  let drawnAt = null;
  function follow() {
    if (drawnAt) {
      const s = view.k / drawnAt.k, { w, h } = size();
      const x = (drawnAt.x - view.x) * view.k + w / 2 - s * w / 2, y = h / 2 - (drawnAt.y - view.y) * view.k - s * h / 2;
      drawn.setAttribute("transform", "translate(" + x.toFixed(1) + " " + y.toFixed(1) + ") scale(" + s.toFixed(5) + ")");
    }
    rule();
    soon();
  }

  let waits = 0;
  function soon() {
    clearTimeout(waits);
    waits = setTimeout(ask, 120);
  }
  function sieveText() {
    const q = new URLSearchParams();
    for (const [name, value] of new FormData(sieve)) if (value !== "") q.set(name, value);
    return q;
  }
  function remember() {
    const q = sieveText();
    q.set("at", [view.x.toFixed(6), view.y.toFixed(6), view.k.toPrecision(6)].join(","));
    history.replaceState(null, "", "#" + q);
  }
  async function ask() {
    clearTimeout(waits);
    if (asked) asked.abort();
    const mine = asked = new AbortController();
    const { w, h } = size(), now = { ...view }, q = sieveText();
    q.set("box", [now.x - w / 2 / now.k, now.y - h / 2 / now.k, now.x + w / 2 / now.k, now.y + h / 2 / now.k].join(","));
    q.set("size", Math.round(w) + "," + Math.round(h));
    try {
      const answer = await fetch("view?" + q, { signal: mine.signal });
      if (!answer.ok) throw new Error("found status " + answer.status);
      const what = await answer.json();
      if (asked === mine) draw(what, now);
    } catch (e) {
      if (e.name !== "AbortError" && asked === mine) status.textContent = "The fields could not be read: the server did not answer. Move the map to try again.";
    }
    remember();
  }

  function path(rings) {
    let d = "";
    for (const ring of rings) {
      let x = 0, y = 0;
      for (let i = 0; i + 1 < ring.length; i += 2) {
        x += ring[i]; y += ring[i + 1];
        d += (i ? "L" : "M") + px(x / 1e6).toFixed(1) + " " + py(y / 1e6).toFixed(1);
      }
      d += "z";
    }
    return d;
  }
  function middle(rings) {
    let x = 0, y = 0, l = Infinity, r = -Infinity, b = Infinity, t = -Infinity;
    const ring = rings[0] || [];
    for (let i = 0; i + 1 < ring.length; i += 2) {
      x += ring[i]; y += ring[i + 1];
      l = Math.min(l, x); r = Math.max(r, x); b = Math.min(b, y); t = Math.max(t, y);
    }
    return { x: (l + r) / 2e6, y: (b + t) / 2e6, wide: (r - l) / 1e6 * view.k };
  }
  function degrees(v, plus, minus) { return Math.abs(v).toFixed(2) + "° " + (v < 0 ? minus : plus); }
  function count(n) { return n < 10000 ? n.toLocaleString("en-US") : Math.round(n / 1000).toLocaleString("en-US") + "k"; }

  function draw(what, now) {
    const kept = at >= 0 && shown.items[at] ? shown.items[at].key : null;
    view = { ...view }; // what was asked for may be left behind by now
    const left = view;
    view = now;
    drawn.replaceChildren();
    shown = { items: [] };
    const squares = what.squares || [], fields = what.fields || [];
    for (const [x, y, n, skips, laps, unfinished] of squares) square(what.size, x, y, n, [skips, laps, unfinished]);
    const group = element("g", { class: (what.skips || []).length ? "near" : "" }, drawn);
    for (const f of fields) {
      const el = element("path", { class: "r f " + classes[f.need], d: path(f.outline) }, group);
      shown.items.push({ key: "f" + f.id, el: el, need: f.need, name: f.name, id: f.id, says: f.name + ": " + needs[f.need], at: middle(f.outline) });
    }
    for (const s of what.skips || []) element("path", { class: "r patch skip", d: path(s.outline) }, drawn);
    if (fields.length <= 60) for (const item of shown.items.slice(-fields.length)) {
      if (fields.length && item.at.wide > 60) {
        const text = element("text", { x: px(item.at.x).toFixed(1), y: py(item.at.y).toFixed(1) }, drawn);
        text.textContent = item.name.length > item.at.wide / 7 ? item.name.slice(0, Math.floor(item.at.wide / 7) - 1) + "…" : item.name;
      }
    }
    drawnAt = now;
    view = left;
    drawn.removeAttribute("transform");
    if (left.x !== now.x || left.y !== now.y || left.k !== now.k) follow();
    shown.items.forEach((item, i) => { item.el.addEventListener("click", () => choose(i, "map")); });
    shown.items.sort((a, b) => b.need - a.need);
    fill();
    at = shown.items.findIndex(item => item.key === kept);
    if (at >= 0) { mark(); return; } // what is chosen stays read out
    status.textContent = what.says;
    panel.replaceChildren(nothing);
  }
  function square(size, x, y, n, parts) {
    const side = size * view.k, left = px(x * size - 180), top = py((y + 1) * size - 180);
    const group = element("g", {}, drawn);
    const el = element("rect", { class: "s", x: (left + 1).toFixed(1), y: (top + 1).toFixed(1), width: (side - 2).toFixed(1), height: (side - 2).toFixed(1) }, group);
    let from = left + 1;
    parts.forEach((part, i) => {
      const wide = (side - 2) * part / n;
      if (wide >= 0.5) element("rect", { class: "band " + classes[3 - i], x: from.toFixed(1), y: (top + 1).toFixed(1), width: wide.toFixed(1), height: (side - 2).toFixed(1) }, group);
      from += wide;
    });
    element("text", { x: (left + side / 2).toFixed(1), y: (top + side / 2 + 4).toFixed(1) }, group).textContent = count(n);
    const need = parts[0] ? 3 : parts[1] ? 2 : parts[2] ? 1 : 0;
    const where = { x: (x + 0.5) * size - 180, y: (y + 0.5) * size - 180 };
    const says = degrees(lat(where.y), "N", "S") + " " + degrees(where.x, "E", "W") + ": " + count(n) + (n === 1 ? " field" : " fields") + ", " + parts.map((p, i) => p ? count(p) + " " + counted[i] : "").filter(Boolean).join(", ").replace(/^$/, "which need nothing");
    shown.items.push({ key: "s" + size + "," + x + "," + y, el: el, need: need + Math.min(0.99, parts[0] / 1e6), says: says, at: where, size: size });
  }

  // The list beside the map, for who goes through it by keyboard or cannot see the map.
  function fill() {
    list.replaceChildren();
    shown.items.slice(0, 30).forEach((item, i) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = item.says;
      button.addEventListener("click", () => choose(i, "list"));
      const li = document.createElement("li");
      li.append(button);
      list.append(li);
    });
    if (shown.items.length > 30) {
      const li = document.createElement("li");
      li.textContent = (shown.items.length - 30).toLocaleString("en-US") + " more are on the map.";
      list.append(li);
    }
  }

  function mark() {
    for (const el of map.querySelectorAll(".chosen")) el.classList.remove("chosen");
    for (const el of list.querySelectorAll("[aria-current]")) { el.removeAttribute("aria-current"); el.parentElement.classList.remove("chosen"); }
    const item = shown.items[at];
    if (!item) return;
    item.el.classList.add("chosen");
    const button = list.querySelectorAll("button")[at];
    if (button) { button.setAttribute("aria-current", "true"); button.parentElement.classList.add("chosen"); }
  }
  function said(name, text) {
    const el = document.createElement(name);
    if (typeof text === "string") { el.textContent = text; return el; }
    el.className = "q";
    el.dataset.us = text.us;
    el.dataset.metric = text.metric;
    el.textContent = words(el);
    return el;
  }
  let link = "";
  async function choose(i, from) {
    at = i;
    mark();
    const item = shown.items[i];
    link = "";
    status.textContent = item.says;
    if (item.size) {
      const closer = document.createElement("button");
      closer.type = "button";
      closer.textContent = "look closer";
      closer.addEventListener("click", () => closeUp(item));
      panel.replaceChildren(said("p", item.says), closer);
      return;
    }
    try {
      const answer = await fetch("field?id=" + item.id);
      if (!answer.ok) throw new Error("found status " + answer.status);
      const f = await answer.json();
      if (shown.items[at] !== item) return;
      const lines = document.createElement("dl");
      for (const l of f.lines) {
        const row = document.createElement("div");
        row.append(said("dt", l.name), said("dd", l.text));
        lines.append(row);
      }
      panel.replaceChildren(said("h3", f.name), lines);
      if (f.link) {
        const a = document.createElement("a");
        a.className = "tap";
        a.href = link = f.link;
        a.textContent = "the field's page";
        panel.append(a);
      }
      const closer = document.createElement("button");
      closer.type = "button";
      closer.textContent = "look closer";
      closer.addEventListener("click", () => lookAt(f.box));
      panel.append(" ", closer);
    } catch (e) {
      panel.replaceChildren(said("p", "The field could not be read: the server did not answer."));
    }
  }
  function closeUp(item) {
    view = { x: item.at.x, y: item.at.y, k: held(0.9 * Math.min(size().w, size().h) / item.size) };
    at = -1;
    follow();
  }
  function lookAt(b) {
    const was = box;
    box = b;
    view = whole();
    box = was;
    follow();
  }

  // Degrees of longitude and latitude along the frame, and the bar.
  function lat(y) { return Math.atan(Math.sinh(y * Math.PI / 180)) * 180 / Math.PI; }
  function mercator(l) { return Math.asinh(Math.tan(l * Math.PI / 180)) * 180 / Math.PI; }
  function step(degrees) {
    const power = Math.pow(10, Math.floor(Math.log10(degrees)));
    return [1, 2, 5, 10].find(k => k * power >= degrees) * power;
  }
  function rule() {
    ruled.replaceChildren();
    const { w, h } = size();
    const by = step(150 / view.k), digits = Math.max(0, -Math.floor(Math.log10(by) + 1e-9));
    const name = (v, plus, minus) => Math.abs(v).toFixed(digits) + "° " + (v < 0 ? minus : plus);
    for (let x = Math.ceil((view.x - w / 2 / view.k) / by) * by; px(x) < w; x += by) {
      element("path", { d: "M" + px(x).toFixed(1) + " 0V" + h }, ruled);
      if (px(x) < w - 90) element("text", { x: (px(x) + 3).toFixed(1), y: 13 }, ruled).textContent = name(x, "E", "W");
    }
    const south = lat(view.y - h / 2 / view.k), north = lat(view.y + h / 2 / view.k);
    for (let l = Math.ceil(south / by) * by; l < north; l += by) {
      const y = py(mercator(l));
      element("path", { d: "M0 " + y.toFixed(1) + "H" + w }, ruled);
      if (y > 30 && y < h - 40) element("text", { x: 4, y: (y - 3).toFixed(1) }, ruled).textContent = name(l, "N", "S");
    }
    bar();
  }
  function bar() {
    const { h } = size();
    const metre = view.k / (111319.49 * Math.cos(lat(view.y) * Math.PI / 180)); // pixels
    const scales = units() === "us" ? [[1609.344, "mi"], [0.3048, "ft"]] : [[1000, "km"], [1, "m"]];
    const [long, name] = scales.find(([m]) => m * metre < 110) || scales[1];
    const target = 110 / (long * metre), power = Math.pow(10, Math.floor(Math.log10(target)));
    const n = [5, 2, 1].find(k => k * power <= target) * power;
    const quarter = n * long * metre / 4, y = h - 18;
    const part = (from, wide) => "M" + from.toFixed(1) + " " + y + "h" + wide.toFixed(1) + "v6h" + (-wide).toFixed(1) + "z";
    const g = map.querySelector(".scale");
    g.querySelector(".under").setAttribute("d", part(10, 4 * quarter));
    g.querySelector(".ink").setAttribute("d", part(10, quarter) + part(10 + 2 * quarter, quarter));
    const text = g.querySelector("text");
    text.setAttribute("x", 16 + 4 * quarter);
    text.setAttribute("y", y + 8);
    text.textContent = Number(n.toPrecision(3)).toLocaleString("en-US") + " " + name;
  }

  // By hand.
  function zoom(by, x, y) {
    const { w, h } = size();
    if (x === undefined) { x = w / 2; y = h / 2; }
    const k = held(view.k * by);
    const px0 = view.x + (x - w / 2) / view.k, py0 = view.y - (y - h / 2) / view.k;
    view = { x: px0 - (x - w / 2) / k, y: py0 + (y - h / 2) / k, k: k };
    follow();
  }
  function move(dx, dy) { // pixels
    view = { x: Math.min(180, Math.max(-180, view.x + dx / view.k)), y: Math.min(180, Math.max(-180, view.y - dy / view.k)), k: view.k };
    follow();
  }
  const fingers = new Map();
  let travelled = 0;
  function spot(e) { const r = map.getBoundingClientRect(); return { x: e.clientX - r.left, y: e.clientY - r.top }; }
  map.addEventListener("pointerdown", e => {
    fingers.set(e.pointerId, spot(e));
    if (fingers.size === 1) travelled = 0;
  });
  map.addEventListener("pointermove", e => {
    const was = fingers.get(e.pointerId);
    if (!was) return;
    const now = spot(e);
    const others = [...fingers.entries()].filter(([id]) => id !== e.pointerId).map(f => f[1]);
    travelled += Math.hypot(now.x - was.x, now.y - was.y);
    if (travelled > 4 && !map.hasPointerCapture(e.pointerId)) map.setPointerCapture(e.pointerId);
    if (others.length) {
      const o = others[0];
      const before = Math.hypot(was.x - o.x, was.y - o.y), after = Math.hypot(now.x - o.x, now.y - o.y);
      fingers.set(e.pointerId, now);
      move((was.x - now.x) / 2, (was.y - now.y) / 2);
      if (before > 0 && after > 0) zoom(after / before, (now.x + o.x) / 2, (now.y + o.y) / 2);
      return;
    }
    fingers.set(e.pointerId, now);
    if (travelled > 4) { map.classList.add("moved"); move(was.x - now.x, was.y - now.y); }
  });
  for (const end of ["pointerup", "pointercancel"]) map.addEventListener(end, e => {
    fingers.delete(e.pointerId);
    if (!fingers.size) map.classList.remove("moved");
  });
  map.addEventListener("click", e => { if (travelled > 4) { e.stopPropagation(); e.preventDefault(); } }, true);
  map.addEventListener("touchmove", e => { if (e.touches.length > 1) e.preventDefault(); }, { passive: false });
  map.addEventListener("wheel", e => {
    if (!(e.ctrlKey || e.metaKey) && document.activeElement !== map) return; // the page scrolls
    e.preventDefault();
    const p = spot(e);
    zoom(Math.exp(-e.deltaY / 300), p.x, p.y);
  }, { passive: false });
  map.addEventListener("dblclick", e => { const p = spot(e); zoom(2, p.x, p.y); });
  map.addEventListener("keydown", e => {
    if (e.altKey || e.ctrlKey || e.metaKey) return;
    const step = 80;
    const n = shown.items.length;
    const keys = {
      ArrowLeft: () => move(-step, 0), ArrowRight: () => move(step, 0), ArrowUp: () => move(0, -step), ArrowDown: () => move(0, step),
      "+": () => zoom(1.6), "=": () => zoom(1.6), "-": () => zoom(1 / 1.6), 0: () => { view = whole(); follow(); },
      n: () => n && choose((at + 1) % n, "key"), p: () => n && choose((at + n - 1 + (at < 0 ? 1 : 0)) % n, "key"),
      Enter: () => {
        const item = shown.items[at];
        if (item && item.size) closeUp(item);
        else if (item && link) location.href = link;
      },
    };
    if (keys[e.key]) { e.preventDefault(); keys[e.key](); }
  });
  for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => {
    if (b.dataset.zoom === "whole") { view = whole(); follow(); } else zoom(b.dataset.zoom === "in" ? 1.6 : 1 / 1.6);
  });

  // Another season has its own ground.
  async function seasonChanged() {
    try {
      const answer = await fetch("chosen?season=" + sieve.elements.season.value);
      if (answer.ok) { const c = await answer.json(); if (c.box) { box = c.box; view = whole(); } }
    } catch (e) { /* the view stays, and says so when it is asked for */ }
    follow();
  }
  sieve.addEventListener("submit", e => { e.preventDefault(); ask(); });
  sieve.addEventListener("input", e => { if (e.target.name === "season") seasonChanged(); else soon(); });
  document.addEventListener("units", rule);
  let was = size();
  addEventListener("resize", () => {
    const now = size();
    if (now.w !== was.w || now.h !== was.h) follow();
    was = now;
  });

  // What the address remembers.
  const memory = new URLSearchParams(location.hash.slice(1));
  for (const [name, value] of memory) {
    const field = sieve.elements[name];
    if (field) field.value = value;
    if (field && value !== "" && field.closest("details")) field.closest("details").open = true;
  }
  const place = (memory.get("at") || "").split(",").map(Number);
  view = place.length === 3 && place.every(Number.isFinite) && place[2] > 0 ? { x: place[0], y: place[1], k: held(place[2]) } : whole();
  rule();
  ask();
})();
