// Elements and drawings. Text that comes from files is only ever put in as text.
const svgNS = "http://www.w3.org/2000/svg";
const $ = id => document.getElementById(id);

// el makes an element: el("p", {class: "small"}, "text", child, ...).
function el(name, attributes, ...children) {
  const e = document.createElement(name);
  for (const [key, value] of Object.entries(attributes || {})) {
    if (key.startsWith("on")) e.addEventListener(key.slice(2), value);
    else if (value === true) e.setAttribute(key, "");
    else if (value !== false && value !== undefined && value !== null) e.setAttribute(key, value);
  }
  e.append(...children.filter(c => c !== null && c !== undefined && c !== false));
  return e;
}
// named is a name from a file, in its own direction.
function named(text) { return el("bdi", {}, String(text)); }
// asDropped is the path of a file as it was dropped.
function asDropped(path) { return path.replace(/^files\//, ""); }

function shape(name, attributes) {
  const e = document.createElementNS(svgNS, name);
  for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
  return e;
}

// sketch draws shapes in metres, north up. says is what a reader hears of it.
function sketch(drawing, says) {
  const svg = shape("svg", { class: "sketch", role: "img", "aria-label": says });
  if (!drawing || !drawing.box) { svg.setAttribute("viewBox", "0 0 10 10"); return svg; }
  svg.setAttribute("viewBox", drawing.box.join(" "));
  const order = s => (s.kind === "way" ? 0 : s.kind === "boundary" ? 2 : 1);
  const shapes = [...(drawing.shapes || [])].sort((a, b) => order(a) - order(b));
  const swaths = shape("g", {}), rest = shape("g", {});
  for (const s of shapes) {
    if (s.kind === "way") {
      swaths.append(shape("path", { class: "swath", d: s.d, "stroke-width": s.width_m > 0 ? s.width_m : 0 }));
    }
    rest.append(shape("path", { class: s.kind, d: s.d, ...(s.kind === "way" || s.kind === "boundary" ? {} : { "fill-rule": "evenodd" }) }));
  }
  svg.append(swaths, rest);
  return svg;
}

// scaleLine says how long a part of a sketch is on the ground. It stays true however
// wide the sketch is shown.
function scaleLine(svg) {
  const line = shape("svg", { width: 10, height: 8, "aria-hidden": "true" });
  const text = el("span", {}, "");
  const out = el("p", { class: "scale-line" }, line, text, el("span", {}, "north is up"));
  const set = () => {
    const view = svg.viewBox.baseVal, r = svg.getBoundingClientRect();
    if (!r.width || !r.height || !view.width) return;
    const perPixel = Math.max(view.width / r.width, view.height / r.height), unit = desk.units === "metric" ? 1 : 0.3048;
    const target = Math.min(110, r.width / 2) * perPixel / unit, power = 10 ** Math.floor(Math.log10(target));
    const n = [5, 2, 1].find(k => k * power <= target) * power;
    line.setAttribute("width", n * unit / perPixel);
    text.textContent = Number(n.toPrecision(3)).toLocaleString("en-US") + (desk.units === "metric" ? " m" : " ft");
  };
  new ResizeObserver(set).observe(svg);
  svg.addEventListener("view", set);
  return out;
}

// metres reads a length such as 40 ft, as the job file has it; NaN for none.
function metres(text) {
  const found = /^\s*([0-9]+(?:[.,][0-9]+)?)\s*(ft|feet|foot|'|in|inch|inches|"|m|metres?|meters?|cm|mm)\s*$/i.exec(text || "");
  if (!found) return NaN;
  const unit = found[2].toLowerCase();
  const by = /^(ft|feet|foot|')$/.test(unit) ? 0.3048 : /^(in|inch|inches|")$/.test(unit) ? 0.0254 : unit === "cm" ? 0.01 : unit === "mm" ? 0.001 : 1;
  return Number(found[1].replace(",", ".")) * by;
}

// shiftText says how far tracks are moved, east and north, in metres.
function shiftText(east, north) {
  return lengthText(Math.abs(east)) + (east < 0 ? " west" : " east") + " and " + lengthText(Math.abs(north)) + (north < 0 ? " south" : " north") + " of where they were logged.";
}

// lengthText writes metres as people here do.
function lengthText(m) {
  return desk.units === "metric" ? (Math.round(m * 100) / 100) + " m" : (Math.round(m / 0.3048 * 10) / 10) + " ft";
}
