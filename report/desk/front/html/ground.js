// The boundary of a field: moved to where the tracks say it is, drawn, or with ground
// taken out. All of it works with a pointer and with keys, is seen before it is taken,
// and can be undone.

// A place on a sketch, in metres east and south of its middle, on the Earth and back.
// Good to a centimetre on any field: the sketch lies on a plane that keeps areas, around
// a place that it names.
function earth(at, [x, y]) {
  const a = 6378137, e2 = 0.0066943799901413165, lat = at[1] * Math.PI / 180, s = Math.sin(lat), w = Math.sqrt(1 - e2 * s * s);
  const n = a / w, m = a * (1 - e2) / w ** 3, north = -y;
  const dLat = north / m - x * x * Math.tan(lat) / (2 * m * n);
  const dLon = x / (n * Math.cos(lat)) * (1 + north * Math.tan(lat) / n);
  return [at[0] + dLon * 180 / Math.PI, at[1] + dLat * 180 / Math.PI];
}

// shifter moves the tracks of a job against its boundary, on the sketch.
function shifter(job, take, leave) {
  const was = job.shift || { east_m: 0, north_m: 0 };
  let east = was.east_m || 0, north = was.north_m || 0;
  const svg = sketch(job.sketch, "The boundary, and the ways as they would be moved");
  const ways = [...svg.querySelectorAll(".swath, .way")];
  const step = el("select", { id: "shift-step" });
  for (const m of [0.1, 0.5, 2, 10]) step.append(el("option", { value: m }, lengthText(m)));
  step.value = "0.5";
  const eastBox = el("input", { type: "number", step: "0.01", id: "shift-east" });
  const northBox = el("input", { type: "number", step: "0.01", id: "shift-north" });
  const told = el("p", { role: "status" });
  function draw() {
    // The sketch has the ways where the job has them now.
    for (const w of ways) w.setAttribute("transform", "translate(" + (east - (was.east_m || 0)) + " " + -(north - (was.north_m || 0)) + ")");
    eastBox.value = Math.round(east * 100) / 100;
    northBox.value = Math.round(north * 100) / 100;
    told.textContent = east === 0 && north === 0 ? "The tracks are measured where they were logged." :
      "The tracks would be measured " + shiftText(east, north);
  }
  const move = (x, y) => { east = Math.round((east + x * step.value) * 100) / 100; north = Math.round((north + y * step.value) * 100) / 100; draw(); };
  const arrow = (name, label, x, y, sign) => el("button", { type: "button", class: name, "aria-label": "Move the tracks " + label, onclick: () => move(x, y) }, sign);
  const compass = el("div", { class: "compass", role: "group", "aria-label": "Move the tracks" },
    arrow("n", "north", 0, 1, "N"), arrow("w", "west", -1, 0, "W"), arrow("e", "east", 1, 0, "E"), arrow("s", "south", 0, -1, "S"));
  compass.addEventListener("keydown", e => {
    const by = { ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] }[e.key];
    if (by) { e.preventDefault(); move(...by); }
  });
  eastBox.addEventListener("change", () => { east = Number(eastBox.value) || 0; draw(); });
  northBox.addEventListener("change", () => { north = Number(northBox.value) || 0; draw(); });
  const offered = job.suspects && el("p", {}, named(job.suspects.text), " ",
    el("button", { type: "button", id: "shift-offered", onclick: () => { east = job.suspects.east_m; north = job.suspects.north_m; draw(); } }, "Show that shift"));
  draw();
  return el("section", { class: "two drawing-tool", "aria-labelledby": "shift-h" },
    el("div", { class: "large" }, svg, scaleLine(svg)),
    el("div", {}, el("h3", { id: "shift-h", tabindex: "-1" }, "Move tracks and boundary together"),
      el("p", {}, "Where the boundary was drawn or driven with another receiver, all tracks may lie off it by the same amount. Nothing changes until you take it."),
      offered, compass,
      el("div", { class: "numbers-in" }, el("label", {}, "One step", step)),
      el("div", { class: "numbers-in" }, el("label", {}, "metres east", eastBox), el("label", {}, "metres north", northBox)),
      told,
      el("p", { class: "choosers" },
        el("button", { type: "button", class: "strong", id: "shift-take", onclick: () => take({ shift: { east_m: east, north_m: north } }) }, "Take this shift"),
        el("button", { type: "button", onclick: leave }, "Leave it as it is"))));
}

// drawer draws a ring: a boundary, or ground that is taken out of one.
function drawer(job, what, take, leave) {
  const svg = sketch(job.sketch, what === "hole" ? "The field: tap the corners of the ground to take out" : "The ways: tap the corners of the boundary");
  svg.setAttribute("tabindex", "0");
  svg.setAttribute("role", "application");
  svg.setAttribute("aria-describedby", "draw-keys");
  const whole = job.sketch.box.slice();
  let view = whole.slice();
  let cross = [view[0] + view[2] / 2, view[1] + view[3] / 2], usesKeys = false;
  const corners = [];
  const line = shape("path", { class: "drawn" }), dots = shape("g", {}), mark = shape("path", { class: "cross" });
  svg.append(line, dots, mark);
  const told = el("p", { role: "status", id: "draw-says" });
  const done = el("button", { type: "button", class: "strong", id: "draw-take", onclick: finish }, what === "hole" ? "Take this ground out" : "Take this boundary");
  const back = el("button", { type: "button", id: "draw-back", onclick: () => { corners.pop(); draw(); } }, "Last corner off");
  const perPixel = () => { const r = svg.getBoundingClientRect(); return r.width ? Math.max(view[2] / r.width, view[3] / r.height) : 1; };
  function area() {
    let twice = 0;
    corners.forEach((p, i) => { const q = corners[(i + 1) % corners.length]; twice += p[0] * q[1] - q[0] * p[1]; });
    const m2 = Math.abs(twice) / 2;
    return desk.units === "metric" ? (m2 / 10000).toFixed(2) + " ha" : (m2 / 4046.8564224).toFixed(2) + " ac";
  }
  function draw() {
    svg.setAttribute("viewBox", view.join(" "));
    const u = perPixel();
    line.setAttribute("d", corners.length ? "M" + corners.map(p => p.join(" ")).join("L") + (corners.length > 2 ? "z" : "") : "");
    dots.replaceChildren(...corners.map(p => shape("circle", { class: "corner", cx: p[0], cy: p[1], r: 5 * u })));
    mark.setAttribute("d", usesKeys ? "M" + (cross[0] - 12 * u) + " " + cross[1] + "h" + 24 * u + "M" + cross[0] + " " + (cross[1] - 12 * u) + "v" + 24 * u : "");
    done.disabled = corners.length < 3;
    back.disabled = !corners.length;
    told.textContent = corners.length === 0 ? "No corner yet." : corners.length < 3 ? corners.length + (corners.length === 1 ? " corner" : " corners") + "; three make ground." : corners.length + " corners, " + area() + ".";
    svg.dispatchEvent(new Event("view"));
  }
  function finish() {
    const at = job.sketch.centre;
    const ring = corners.map(p => earth(at, p));
    ring.push(ring[0]);
    take({ [what]: ring });
  }
  function zoom(by, x, y) {
    const w = Math.min(whole[2], Math.max(whole[2] / 200, view[2] / by)), k = w / view[2];
    if (x === undefined) [x, y] = [view[0] + view[2] / 2, view[1] + view[3] / 2];
    view = w >= whole[2] ? whole.slice() : [x - (x - view[0]) * k, y - (y - view[1]) * k, w, view[3] * k];
    draw();
  }
  const place = e => { const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse()); return [p.x, p.y]; };
  const held = new Map();
  let moved = false;
  svg.addEventListener("pointerdown", e => {
    held.set(e.pointerId, e);
    if (held.size === 1) moved = false;
    try { svg.setPointerCapture(e.pointerId); } catch (_) { /* already lifted */ }
  });
  svg.addEventListener("pointermove", e => {
    const before = held.get(e.pointerId);
    if (!before) return;
    const other = [...held.values()].find(p => p.pointerId !== e.pointerId);
    if (other) {
      const was = Math.hypot(before.clientX - other.clientX, before.clientY - other.clientY), is = Math.hypot(e.clientX - other.clientX, e.clientY - other.clientY);
      if (was > 0) zoom(is / was, ...place({ clientX: (e.clientX + other.clientX) / 2, clientY: (e.clientY + other.clientY) / 2 }));
      moved = true;
    } else if (moved || Math.hypot(e.clientX - before.clientX, e.clientY - before.clientY) > 6) {
      moved = true;
      const u = perPixel();
      view[0] -= (e.clientX - before.clientX) * u;
      view[1] -= (e.clientY - before.clientY) * u;
      draw();
    } else return;
    held.set(e.pointerId, e);
  });
  svg.addEventListener("pointerup", e => {
    if (held.delete(e.pointerId) && !moved && held.size === 0) { usesKeys = false; corners.push(place(e)); draw(); }
  });
  svg.addEventListener("pointercancel", e => held.delete(e.pointerId));
  svg.addEventListener("wheel", e => { e.preventDefault(); zoom(Math.exp(-e.deltaY / 400), ...place(e)); }, { passive: false });
  svg.addEventListener("keydown", e => {
    const by = (e.shiftKey ? 60 : 12) * perPixel();
    const act = {
      ArrowLeft: () => { cross[0] -= by; }, ArrowRight: () => { cross[0] += by; }, ArrowUp: () => { cross[1] -= by; }, ArrowDown: () => { cross[1] += by; },
      Enter: () => corners.push(cross.slice()), " ": () => corners.push(cross.slice()), Backspace: () => corners.pop(), Delete: () => corners.pop(),
      "+": () => zoom(1.5, ...cross), "=": () => zoom(1.5, ...cross), "-": () => zoom(1 / 1.5, ...cross), "0": () => { view = whole.slice(); },
    }[e.key];
    if (!act || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    usesKeys = true;
    act();
    // The cross stays in sight.
    cross = [Math.min(view[0] + view[2], Math.max(view[0], cross[0])), Math.min(view[1] + view[3], Math.max(view[1], cross[1]))];
    draw();
  });
  svg.addEventListener("focus", () => { if (svg.matches(":focus-visible")) { usesKeys = true; draw(); } });
  const tool = el("section", { class: "two drawing-tool", "aria-labelledby": "draw-h" },
    el("div", { class: "large" }, svg, scaleLine(svg),
      el("div", { class: "zoom", role: "group", "aria-label": "Zoom" },
        el("button", { type: "button", "aria-label": "Zoom in", onclick: () => zoom(1.6) }, "+"),
        el("button", { type: "button", "aria-label": "Zoom out", onclick: () => zoom(1 / 1.6) }, "\u2212"),
        el("button", { type: "button", "aria-label": "All of the field", onclick: () => { view = whole.slice(); draw(); } }, "all"))),
    el("div", {}, el("h3", { id: "draw-h", tabindex: "-1" }, what === "hole" ? "Take ground out" : "Draw the boundary"),
      el("p", {}, what === "hole" ? "Tap the corners of a slough, a yard or a rock pile that is not to be worked: round it once, in order." : "Tap the corners of the field, round it once, in order. Ground that was left out along the edge is seen only with a boundary."),
      el("p", { class: "small", id: "draw-keys" }, "Tap for a corner; drag to move, two fingers or + and \u2212 to look closer. Keys: arrows move the cross, with Shift farther, Enter sets a corner, Backspace takes it off."),
      told, el("p", { class: "choosers" }, done, back, el("button", { type: "button", onclick: leave }, "Leave it as it is"))));
  requestAnimationFrame(draw);
  return tool;
}
