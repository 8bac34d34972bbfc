// The questions that the files leave open. Each stands with the best guess filled in,
// and a width is shown on the sketch as it is typed.
// What a bar does behind the tractor matters at the ends of passes only, and stands
// folded; it is answered if it was looked at.
const folded = new Set(["mount", "antenna_to_hitch", "hitch_to_bar", "row_spacing"]);
function questionForm(questions, jobs) {
  const boxes = [], more = [];
  questions.forEach((q, i) => (q.sure !== "unknown" && folded.has(q.key) ? more : boxes).push(questionBox(q, i, jobs)));
  const many = questions.length > 1;
  let box = null;
  if (more.length) {
    box = el("details", { id: "more-questions" }, el("summary", {}, "How the bars hang behind the tractor: " + count(more.length, "guess", "guesses")), ...more);
    boxes.push(box);
  }
  const send = el("button", { type: "submit", class: "strong" }, many ? "These are right: work it out" : "This is right: work it out");
  return { boxes: [...boxes, el("p", { class: "choosers" }, send)], values: form => questions.map((q, i) => ({ q, value: valueOf(form, q, i) }))
    .filter(({ q, value }) => (q.sure === "unknown" || !folded.has(q.key) || box.open) && (value !== "" || q.kind !== "product")) };
}

// valueOf is an answer as the job file has it.
function valueOf(form, q, i) {
  const data = new FormData(form);
  if (q.kind === "product") {
    const known = data.get("q" + i);
    if (known && known !== "new") return known;
    const parts = ["name", "rate", "price"].map(key => [key, String(data.get("q" + i + "-" + key) || "").trim()]).filter(([, v]) => v);
    return parts.some(([key]) => key === "rate") ? "{" + parts.map(([key, v]) => key + ": " + JSON.stringify(v)).join(", ") + "}" : known === "new" || !known ? "" : known;
  }
  const got = data.get("q" + i);
  return got === null ? "" : String(got).trim();
}

function questionBox(q, i, jobs) {
  const id = "q" + i;
  const box = el("fieldset", {}, el("legend", {}, named(q.text)));
  let input;
  if (q.kind === "product") {
    box.append(productBox(q, id));
  } else if (q.choices && q.choices.length) {
    input = el("div", { class: "pick" });
    for (const [k, c] of q.choices.entries()) {
      const radio = el("input", { type: "radio", name: id, id: id + "-" + k, value: c.value });
      radio.checked = c.value === q.best;
      input.append(el("label", {}, radio, named(c.text)));
    }
    box.append(input);
  } else {
    input = el("input", { type: "text", name: id, id, value: q.best || "", autocomplete: "off", autocapitalize: "off", spellcheck: "false", "aria-describedby": id + "-why" });
    const label = el("label", { for: id, class: "small" }, hint(q));
    box.append(label, input);
  }
  box.append(el("p", { class: "small", id: id + "-why" }, why(q)));
  const shown = (q.shown || []).map(name => jobs.find(j => j.job === name)).find(j => j && j.sketch);
  if (shown && q.key === "width") {
    const svg = sketch(shown.sketch, "The ways on " + shown.field + ", as wide as the answer has it");
    const draw = () => {
      const m = metres(input.value);
      for (const s of svg.querySelectorAll(".swath")) s.setAttribute("stroke-width", m > 0 && m < 200 ? m : 0);
    };
    input.addEventListener("input", draw);
    draw();
    box.append(el("div", { class: "shown" }, svg, el("p", { class: "small" }, "Blue is the ground that this width covers. Bare ground between would be skips.")));
  }
  return box;
}

// productBox asks for a product: one that is known already, or its name, rate and price.
function productBox(q, id) {
  const out = el("div", {});
  const field = (key, label, hint) => el("label", { for: id + "-" + key }, label, el("input", { type: "text", name: id + "-" + key, id: id + "-" + key, placeholder: hint, autocomplete: "off", autocapitalize: "off", spellcheck: "false" }));
  const own = el("div", { class: "numbers-in" }, field("name", "Product", "seed"), field("rate", "Rate", desk.units === "metric" ? "100 kg/ha" : "90 lb/ac"), field("price", "Price", desk.units === "metric" ? "0.55 EUR/kg" : "0.25 USD/lb"));
  if (!(q.choices && q.choices.length)) return own;
  const pick = el("div", { class: "pick" });
  const choice = (value, text) => {
    const radio = el("input", { type: "radio", name: id, id: id + "-" + pick.children.length, value });
    radio.checked = value === (q.best || "new");
    radio.addEventListener("change", () => { own.hidden = value !== "new"; });
    pick.append(el("label", {}, radio, named(text)));
  };
  for (const c of q.choices) choice(c.value, c.text);
  choice("new", "another");
  own.hidden = Boolean(q.best);
  out.append(pick, own);
  return out;
}

function hint(q) {
  if (q.kind === "length") return desk.units === "metric" ? "A length with its unit, such as 12 m or 30 cm" : "A length with its unit, such as 40 ft or 10 in";
  if (q.kind === "number") return "A number";
  return "Your answer";
}

function why(q) {
  const say = q.why ? q.why.charAt(0).toUpperCase() + q.why.slice(1) + (/[.!?]$/.test(q.why) ? "" : ".") : "";
  if (!q.best) return say;
  return (q.sure === "unknown" ? "A guess is filled in; please look. " : "Filled in is the best guess. ") + say;
}
