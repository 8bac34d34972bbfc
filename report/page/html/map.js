// The map: looking closer, choosing ground, switching layers.
(function () {
  const map = document.getElementById("map");
  const frame = map.parentElement;
  const status = document.getElementById("status");
  const home = map.viewBox.baseVal;
  const whole = { x: home.x, y: home.y, w: home.width, h: home.height };
  let view = { ...whole };
  let chosen = null;

  // The view. The drawing's unit is a centimetre.
  function perPixel() {
    const r = map.getBoundingClientRect();
    return r.width && r.height ? Math.max(view.w / r.width, view.h / r.height) : Number(map.dataset.unit);
  }
  const patterns = [...map.querySelectorAll("pattern")].map(p => [p, p.getAttribute("patternTransform") || ""]);
  function draw() {
    map.setAttribute("viewBox", [view.x, view.y, view.w, view.h].join(" "));
    const u = perPixel();
    map.style.setProperty("--u", u);
    for (const [p, turn] of patterns) p.setAttribute("patternTransform", "scale(" + u + ") " + turn);
    map.classList.toggle("zoomed", view.w < whole.w * 0.99);
    scale(u);
  }
  // The bar scale is part of the drawing, so that it stays true however the
  // page is laid out or printed.
  const bar = map.querySelector(".scale");
  function scale(u) {
    const unit = units() === "us" ? 30.48 : 100;
    const target = 110 * u / unit; // what about 110 pixels are
    const power = Math.pow(10, Math.floor(Math.log10(target)));
    const n = [5, 2, 1].find(k => k * power <= target) * power;
    const quarter = n * unit / 4, high = 6 * u;
    const x = view.x + 10 * u, y = view.y + view.h - 18 * u;
    const box = (from, wide) => "M" + from + " " + y + "h" + wide + "v" + high + "h" + -wide + "z";
    bar.querySelector(".under").setAttribute("d", box(x, 4 * quarter));
    bar.querySelector(".ink").setAttribute("d", box(x, quarter) + box(x + 2 * quarter, quarter));
    const text = bar.querySelector("text");
    text.setAttribute("x", x + 4 * quarter + 6 * u);
    text.setAttribute("y", y + high + u);
    text.textContent = Number(n.toPrecision(3)).toLocaleString("en-US") + (units() === "us" ? " ft" : " m");
  }
  function zoom(by, cx, cy) {
    const w = Math.min(whole.w, Math.max(whole.w / 400, view.w / by));
    const k = w / view.w;
    if (cx === undefined) { cx = view.x + view.w / 2; cy = view.y + view.h / 2; }
    view = { x: cx - (cx - view.x) * k, y: cy - (cy - view.y) * k, w: w, h: view.h * k };
    hold();
  }
  function hold() { // some of the field stays in sight
    view.x = Math.min(whole.x + whole.w - view.w / 2, Math.max(whole.x - view.w / 2, view.x));
    view.y = Math.min(whole.y + whole.h - view.h / 2, Math.max(whole.y - view.h / 2, view.y));
    if (view.w >= whole.w * 0.999) view = { ...whole };
    draw();
  }
  function move(dx, dy) { view.x += dx; view.y += dy; hold(); }
  function place(e) { // of a pointer, on the drawing
    const m = map.getScreenCTM().inverse();
    return new DOMPoint(e.clientX, e.clientY).matrixTransform(m);
  }

  // Choosing ground.
  function choose(el, from) {
    if (chosen) chosen.classList.remove("chosen");
    for (const row of document.querySelectorAll("tr.chosen, li.chosen")) {
      row.classList.remove("chosen");
      row.querySelector("button").removeAttribute("aria-current");
    }
    chosen = el;
    if (!el) return;
    el.classList.add("chosen");
    status.textContent = words(el);
    const button = el.id && document.querySelector('[data-go="' + el.id + '"]');
    if (!button) return;
    const row = button.closest("tr, li");
    row.classList.add("chosen");
    button.setAttribute("aria-current", "true");
    if (from !== "list") {
      const box = row.closest(".scroll"); // only the list moves, not the page
      if (box) box.scrollTop = row.offsetTop - box.clientHeight / 2;
    }
  }
  function lookAt(el) {
    const b = el.getBBox();
    const aspect = whole.w / whole.h;
    const least = whole.w / 12;
    const w = Math.min(whole.w, Math.max(least, b.width * 2, b.height * 2 * aspect));
    view = { x: b.x + b.width / 2 - w / 2, y: b.y + b.height / 2 - w / aspect / 2, w: w, h: w / aspect };
    hold();
  }
  function go(key, from) {
    const el = document.getElementById(key);
    if (!el) return;
    for (const layer of ["skip", "unworked", "overlap", "deep", "fill", "run"]) {
      if (!el.classList.contains(layer) || (layer === "overlap" && el.classList.contains("deep"))) continue;
      const box = document.querySelector('[data-layer="' + layer + '"]');
      if (box && !box.checked) { box.checked = true; show(box); }
    }
    choose(el, from);
    lookAt(el);
  }
  const listed = [...document.querySelectorAll("[data-go]")];
  for (const b of listed) {
    b.addEventListener("click", () => {
      go(b.dataset.go, "list");
      const r = frame.getBoundingClientRect();
      if (r.bottom < 80 || r.top > innerHeight - 80) frame.scrollIntoView({ block: "start" });
    });
    b.addEventListener("keydown", e => {
      const step = { ArrowDown: 1, ArrowUp: -1 }[e.key];
      if (!step) return;
      const own = [...b.closest("table, ol").querySelectorAll("[data-go]")];
      const next = own[own.indexOf(b) + step];
      if (next) { e.preventDefault(); next.focus(); go(next.dataset.go, "list"); }
    });
  }
  function step(by) {
    if (!listed.length) return;
    const now = listed.findIndex(b => chosen && b.dataset.go === chosen.id);
    const next = now < 0 ? (by > 0 ? 0 : listed.length - 1) : (now + by + listed.length) % listed.length;
    go(listed[next].dataset.go, "map");
  }

  // Pointers: drag, pinch, hover, tap.
  const held = new Map();
  let dragged = false;
  map.addEventListener("pointerdown", e => {
    held.set(e.pointerId, e);
    dragged = false;
  });
  map.addEventListener("pointermove", e => {
    const before = held.get(e.pointerId);
    if (!before) {
      if (e.pointerType === "mouse" && e.target.dataset && e.target.dataset.us) status.textContent = words(e.target);
      return;
    }
    const others = [...held.values()].filter(p => p.pointerId !== e.pointerId);
    if (others.length) {
      const o = others[0];
      const was = Math.hypot(before.clientX - o.clientX, before.clientY - o.clientY);
      const is = Math.hypot(e.clientX - o.clientX, e.clientY - o.clientY);
      const c = place({ clientX: (e.clientX + o.clientX) / 2, clientY: (e.clientY + o.clientY) / 2 });
      if (was > 0) zoom(is / was, c.x, c.y);
      move(-(e.clientX - before.clientX) / 2 * perPixel(), -(e.clientY - before.clientY) / 2 * perPixel());
      dragged = true;
    } else {
      const dx = e.clientX - before.clientX, dy = e.clientY - before.clientY;
      if (!dragged && Math.hypot(dx, dy) < 4) return;
      if (!dragged && e.pointerType === "touch" && Math.abs(dy) > Math.abs(dx)) { held.delete(e.pointerId); return; } // the page's
      dragged = true;
      map.classList.add("moving");
      try { map.setPointerCapture(e.pointerId); } catch (_) { /* already lifted */ }
      if (map.classList.contains("zoomed")) move(-dx * perPixel(), -dy * perPixel());
    }
    held.set(e.pointerId, e);
  });
  // One finger scrolls the page up and down wherever it is put down; two are the map's.
  map.addEventListener("touchmove", e => { if (e.touches.length > 1 && e.cancelable) e.preventDefault(); }, { passive: false });
  function lift(e) { held.delete(e.pointerId); map.classList.remove("moving"); }
  map.addEventListener("pointerup", lift);
  map.addEventListener("pointercancel", lift);
  map.addEventListener("pointerleave", () => { if (chosen) status.textContent = words(chosen); });
  map.addEventListener("click", e => {
    if (dragged || !e.target.dataset) return;
    if (e.target.dataset.mark) go(e.target.dataset.mark, "map");
    else if (e.target.dataset.us) choose(e.target, "map");
  });
  map.addEventListener("wheel", e => {
    if (e.deltaY > 0 && !map.classList.contains("zoomed")) return; // the page goes on
    e.preventDefault();
    const p = place(e);
    zoom(Math.exp(-e.deltaY / 400), p.x, p.y);
  }, { passive: false });
  map.addEventListener("keydown", e => {
    const by = view.w / 8;
    const act = {
      ArrowLeft: () => move(-by, 0), ArrowRight: () => move(by, 0), ArrowUp: () => move(0, -by), ArrowDown: () => move(0, by),
      "+": () => zoom(1.5), "=": () => zoom(1.5), "-": () => zoom(1 / 1.5), "0": () => { view = { ...whole }; draw(); },
      n: () => step(1), p: () => step(-1),
      Escape: () => { choose(null); status.textContent = ""; },
    }[e.key];
    if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    act();
  });
  for (const b of document.querySelectorAll("[data-zoom]")) b.addEventListener("click", () => {
    if (b.dataset.zoom === "whole") { view = { ...whole }; draw(); } else zoom(b.dataset.zoom === "in" ? 1.6 : 1 / 1.6);
  });

  // Layers.
  function show(box) { map.classList.toggle("no-" + box.dataset.layer, !box.checked); }
  for (const box of document.querySelectorAll("[data-layer]")) {
    show(box);
    box.addEventListener("change", () => show(box));
  }

  addEventListener("resize", draw);
  addEventListener("beforeprint", () => { view = { ...whole }; draw(); });
  document.addEventListener("units", () => {
    if (chosen) status.textContent = words(chosen);
    draw();
  });
  draw();
})();
