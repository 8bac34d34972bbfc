// The page of the cab: it asks for the scene once, hears updates as they come, places
// their texts and draws the ground.
(async () => {
	"use strict";
	const $ = id => document.getElementById(id);
	const write = (e, text) => { // its one text is changed, and no node comes or goes
		if (!e.firstChild) e.textContent = text;
		else if (e.firstChild.nodeValue !== text) e.firstChild.nodeValue = text;
	};
	const put = (id, text) => write($(id), text);
	const press = (e, on) => { if (e.getAttribute("aria-pressed") !== String(on)) e.setAttribute("aria-pressed", on); };
	const pause = ms => new Promise(done => setTimeout(done, ms));
	const bad = text => { put("signal", text); $("signal").className = text ? "bad" : ""; };

	// ---- day and night: as the device has it, or as chosen here, which the device keeps
	const dark = matchMedia("(prefers-color-scheme: dark)"), lights = ["auto", "day", "night"];
	let light = (document.cookie.match(/(?:^|; )lapwing-light=(day|night)/) || [, "auto"])[1];
	const shine = () => {
		document.documentElement.dataset.light = light === "auto" ? (dark.matches ? "night" : "day") : light;
		put("light", "Light: " + light);
	};
	shine();
	dark.addEventListener("change", shine);
	$("light").onclick = () => {
		light = lights[(lights.indexOf(light) + 1) % lights.length];
		document.cookie = "lapwing-light=" + light + "; path=/; max-age=31536000; SameSite=Strict";
		shine();
	};

	// ---- the way in
	const another = "This page is of another run of the cab: open the address that it printed, or scan it again.";
	if (!await window.entered.catch(() => true)) { put("verdict", another); return; }
	let scene = null;
	const askScene = async () => {
		const answer = await fetch("scene.json").catch(() => null);
		return { denied: answer && (answer.status === 401 || answer.status === 403), scene: answer && answer.ok ? await answer.json().catch(() => null) : null };
	};
	while (!scene) {
		const got = await askScene();
		if (got.denied) { put("verdict", "No key: open the address that the program printed."); return; }
		if (!(scene = got.scene)) { bad("No contact with the cab"); await pause(1000); }
	}
	bad("");
	const same = s => JSON.stringify([s.field, s.units, s.rings, s.machines, s.switches, s.drives]);
	const us = scene.units === "us";

	const cautions = $("cautions");
	if (!sessionStorage.getItem("agreed")) cautions.showModal();
	$("agreed").onclick = () => { sessionStorage.setItem("agreed", "1"); cautions.close(); $("agreed").blur(); stayAwake(); }; // so that keys are the page's at once

	put("field", scene.field);
	put("open", scene.open);
	put("look", scene.look ? "Others may look, and switch nothing, at " + scene.look : "");
	let chosen = 0, latest = null, marks = [], undo = null;

	// ---- what comes
	// What the page has, which it says when it calls again: so it catches up after any silence.
	let run = "", answer = -1, strip = 0, back = 0;
	const strips = new Map(); // of the answer's ground, by number
	const tails = []; // of each machine, the ground since
	const others = []; // the same of other cabs' journals
	const forget = () => {
		answer = -1; strip = back = 0;
		for (const one of strips.values()) one.remove();
		strips.clear();
		for (const t of tails.concat(others)) { t.first = 0; t.bars.length = 0; t.anew(); }
	};
	const had = all => all.map(t => t.first + t.bars.length).join();
	let source = null, heard = Date.now(), called = 0, denied = false;
	const hear = () => {
		if (source) source.close();
		called = Date.now();
		source = new EventSource("events?" + new URLSearchParams({ run, answer, strip, back, bars: had(tails), others: had(others) }));
		source.addEventListener("now", e => { heard = Date.now(); denied = false; take(JSON.parse(e.data)); });
		source.onerror = async () => {
			source.close();
			source = null;
			contact();
			denied = !!(await askScene()).denied;
			setTimeout(() => source || hear(), 1000);
		};
	};
	const longest = 3000; // ms; the cab says each second how things are
	const lost = () => !source && Date.now() - heard > 1500 || Date.now() - heard > longest;
	const contact = () => {
		if (!lost()) return;
		const since = "No contact with the cab for " + Math.round((Date.now() - heard) / 1000) + " s.";
		bad(since + (denied ? " " + another : latest ? " What stands here is as of " + new Date(heard).toLocaleTimeString() + "." : ""));
		put("works", "");
		if (latest) for (const id of ["left", "right"]) side(id, { kind: "none", word: "no contact", text: "–" });
		// A connection whose other end is gone says nothing by itself: call again.
		if (source && Date.now() - Math.max(heard, called) > 5000) hear();
	};
	setInterval(contact, 500);
	const take = up => {
		if (up.run !== run) {
			if (run) askScene().then(got => { if (got.scene && same(got.scene) !== same(scene)) location.reload(); });
			forget();
			run = up.run;
		}
		latest = up;
		answer = up.answer;
		strip = up.strip;
		back = up.back;
		if (up.marks) {
			marks = up.marks;
			for (const e of routes) e.setAttribute("d", (up.drive || []).length ? lineOf(up.drive) : "");
			pin();
			put("drive", up.driveSay || (marks.length ? "" : "None so far."));
			put("fewer", up.fewer || "");
			$("places").replaceChildren(...marks.map(() => document.createElement("li")));
		}
		for (const n of up.gone || []) { const one = strips.get(n); if (one) one.remove(); strips.delete(n); }
		for (const s of up.strips || []) strips.set(s.n, stripOf(s.rings, s.other));
		const goOn = (t, m) => {
			if (m.first > t.first) { // the answer has their ground now
				t.bars.splice(0, m.first - t.first);
				t.first = m.first;
				t.anew();
			}
			t.bars.length = Math.min(t.bars.length, Math.max(0, m.from - t.first));
			for (const b of m.bars) { t.bars.push(b); grow(b[0], b[1]); grow(b[2], b[3]); }
		};
		up.machines.forEach((m, i) => goOn(tails[i] || (tails[i] = tailOf()), m));
		up.others.forEach((o, i) => goOn(others[i] || (others[i] = tailOf(true)), o));
		show();
	};
	const shares = all => { // a line of each other cab's machine
		while ($("shares").children.length > all.length) $("shares").lastChild.remove();
		all.forEach((s, i) => {
			const li = $("shares").children[i] || $("shares").appendChild(document.createElement("li"));
			write(li, s.text);
			li.className = s.bad ? "bad" : "";
		});
	};
	const show = () => {
		const m = latest.machines[chosen];
		put("verdict", latest.verdict);
		if (told !== answer || seen.rest && Date.now() - toldAt > 3000) tell(m); // nobody reads these ten times a second
		if (lost()) contact();
		else {
			bad(m.signal);
			side("left", m.left);
			side("right", m.right);
			put("works", m.at ? (m.works ? "The bar works, " : "The bar is up, ") + m.told + "." : "");
		}
		press($("bar"), m.down);
		put("bar", m.down ? "Bar is down: lift it" : "Bar is up: lower it");
		[...$("sections").children].forEach((b, i) => press(b, !m.bits || m.bits[i] === "1"));
		shares(latest.shares);
		sound(m);
		paint();
	};
	let told = null, toldAt = 0; // as of which answer, and when
	const seen = {}; // what of it is in sight
	const watch = new IntersectionObserver(all => {
		for (const e of all) seen[e.target.id] = e.isIntersecting;
		if (latest && all.some(e => e.isIntersecting)) tell(latest.machines[chosen]);
	});
	for (const id of ["rest", "places"]) watch.observe($(id));
	const tell = m => {
		const anew = told !== answer;
		told = answer;
		toldAt = Date.now();
		if (anew || seen.places) ways();
		put("also", latest.also);
		put("left-over", latest.field);
		put("closed", latest.edge);
		put("opening", m.opening);
		while ($("tanks").children.length > m.tanks.length) $("tanks").lastChild.remove();
		m.tanks.forEach((text, k) => {
			const li = $("tanks").children[k] || $("tanks").appendChild(document.createElement("li"));
			write(li, text);
		});
	};
	const shown = { left: {}, right: {} }; // of each side
	const side = (id, f) => {
		const e = $(id), was = shown[id];
		if (was.kind !== f.kind) {
			e.className = "side " + f.kind;
			e.querySelector("use").setAttribute("href", "#" + f.kind);
		}
		if (was.text !== f.text) write(e.querySelector(".figure"), f.text);
		if (was.word !== f.word) write(e.querySelector(".word"), f.word);
		shown[id] = f;
	};
	const number = new Intl.NumberFormat("en-US");
	const compass = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
	const way = i => { // how far a place is from the bar now, and on which bearing
		const at = latest && latest.machines[chosen].at, li = $("places").children[i];
		let text = marks[i].label + ": " + marks[i].name;
		if (at) {
			const x = marks[i].at[0] - at[0], y = marks[i].at[1] - at[1];
			const bearing = (Math.round(Math.atan2(x, y) * 180 / Math.PI) + 360) % 360, d = Math.round(Math.hypot(x, y) / (us ? 0.3048 : 1));
			text += "; " + number.format(d) + (us ? " ft" : " m") + " to the " + compass[Math.round(bearing / 45) % 8] + ", bearing " + bearing + "°";
		}
		write(li, text);
	};
	const ways = () => marks.forEach((_, i) => way(i));

	// ---- switching
	const order = async (i, body, path) => {
		const late = AbortSignal.timeout(3000);
		const r = await fetch(path || "bar", { method: "POST", signal: late, body: JSON.stringify({ machine: scene.machines[i].name, ...body }) }).catch(() => null);
		if (!r) put("works", late.aborted ? "The cab did not answer: see whether it switched before you try again." : "No contact with the cab: nothing was switched.");
		else if (!r.ok) put("works", await r.text());
		return !!r && r.ok;
	};
	const bitsNow = (m, i) => m.bits || "1".repeat(scene.machines[i].sections);
	// Switches go one after another: each is worked out from what the one before it left, and
	// there is no undoing while one is on its way, whose undo it would not be.
	let inHand = 0, last = Promise.resolve();
	const undoable = () => { $("undo").disabled = !undo || inHand > 0; };
	const switchBy = change => {
		const i = chosen;
		if (!latest) return;
		inHand++;
		undoable();
		last = last.catch(() => {}).then(async () => {
			const [body, before] = change(latest.machines[i], i);
			if (!await order(i, body)) return;
			if (i === chosen) undo = before;
			const m = latest.machines[i];
			if (body.down !== undefined) m.down = body.down;
			if (body.sections !== undefined) m.bits = body.sections;
			show();
		}).finally(() => { inHand--; undoable(); });
	};
	const toggle = () => switchBy(m => [{ down: !m.down }, { down: m.down }]);
	const toggleSection = k => {
		const n = scene.machines[chosen].sections;
		if (k < n && n > 1) switchBy((m, i) => {
			const was = bitsNow(m, i);
			return [{ sections: was.slice(0, k) + (was[k] === "1" ? "0" : "1") + was.slice(k + 1) }, { sections: was }];
		});
	};
	$("bar").onclick = toggle;
	$("undo").onclick = () => { const back = undo; if (back) switchBy(() => [back, null]); };
	$("filled").onclick = () => order(chosen, {}, "fill");
	$("switching").hidden = !(scene.switches && scene.drives);
	document.addEventListener("keydown", e => {
		const on = e.target.tagName; // a key that a control takes itself is left to it
		if (!latest || cautions.open || !scene.switches || !scene.drives || e.repeat || e.ctrlKey || e.metaKey || e.altKey || on === "INPUT") return;
		if (e.key === " " && !["BUTTON", "SUMMARY", "A"].includes(on)) { e.preventDefault(); toggle(); }
		else if (e.key === "u") $("undo").click();
		else if (/^[0-9]$/.test(e.key)) toggleSection((+e.key + 9) % 10); // 0 is the tenth
	});
	const choose = i => {
		chosen = i;
		undo = null;
		undoable();
		$("filled").hidden = !(scene.drives && scene.machines[i].tanks);
		const n = scene.machines[i].sections;
		$("sections").replaceChildren(...(n > 1 ? Array.from({ length: n }, (_, k) => {
			const b = document.createElement("button");
			b.textContent = k + 1;
			b.onclick = () => toggleSection(k);
			return b;
		}) : []));
		[...$("machines").children].forEach((b, k) => b.setAttribute("aria-pressed", k === i));
		if (latest) { told = null; show(); }
	};
	if (scene.machines.length > 1) {
		$("machines").hidden = false;
		$("machines").append(...scene.machines.map((m, i) => { const b = document.createElement("button"); b.textContent = m.name; b.onclick = () => choose(i); return b; }));
	}

	// ---- tone and screen
	let audio = null, beeped = 0;
	$("tone").onchange = () => { if ($("tone").checked) { audio = audio || new AudioContext(); audio.resume(); } };
	const sound = m => {
		const most = +$("wider").value * (us ? 0.0254 : 0.01); // m
		if (!$("tone").checked || !audio || lost() || Math.max(m.left.gap_m, m.right.gap_m) <= most || Date.now() - beeped < 1500) return;
		beeped = Date.now();
		const tone = audio.createOscillator();
		tone.frequency.value = 620;
		tone.connect(audio.destination);
		tone.start();
		tone.stop(audio.currentTime + 0.25);
	};
	const setting = "Have the device itself keep it on, and change that back after work: Settings, Display, Screen timeout; or Settings, Display & Brightness, Auto-Lock, Never.";
	const awake = text => { for (const e of document.querySelectorAll(".awake")) e.textContent = text; };
	const stayAwake = async () => {
		if (!navigator.wakeLock) { awake("This page cannot keep the screen on: a browser allows that over https only. " + setting); return; }
		try {
			const lock = await navigator.wakeLock.request("screen");
			awake("The screen stays on while this page is in front.");
			lock.onrelease = () => awake("The screen may go dark. " + setting); // the page that comes to the front again asks again
		} catch { awake("The screen may go dark. " + setting); }
	};
	document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { stayAwake(); if (!source) hear(); paint(); } });

	// ---- the drawing
	// A plane in metres, y downward, that lies under the window of the drawing. The ground
	// stays on it as it is until an answer changes it; what moves lies over that, and the
	// plane itself is moved and turned as one. So an update costs what it changes.
	const draw = (name, attributes, parent) => {
		const e = document.createElementNS("http://www.w3.org/2000/svg", name);
		for (const k in attributes) e.setAttribute(k, attributes[k]);
		if (parent) parent.append(e);
		return e;
	};
	const drawing = $("drawing"), plane = $("plane"), sheets = [$("ground"), $("live"), $("pins")]; // each a layer: what moves has no other painted anew
	const lineOf = (points, closed) => "M" + points.map(([x, y]) => x + " " + -y).join("L") + (closed ? "Z" : "");
	const ground = draw("g", { class: "strips", transform: "scale(.01 -.01)" }, sheets[0]);
	for (const ring of scene.rings) draw("path", { class: "ring", d: lineOf(ring, true) }, sheets[0]);
	const routes = ["under", "drive"].map(c => draw("path", { class: c }, sheets[0]));
	const over = sheets[1], pins = sheets[2];
	let box = null;
	const grow = (x, y) => {
		if (box && x >= box[0] && y >= box[1] && x <= box[2] && y <= box[3]) return;
		const past = box ? Math.max(20, 0.1 * (box[2] - box[0]), 0.1 * (box[3] - box[1])) : 20; // so that a field that grows is not laid out anew at each step
		box = box ? [Math.min(box[0], x - past), Math.min(box[1], y - past), Math.max(box[2], x + past), Math.max(box[3], y + past)] : [x - past, y - past, x + past, y + past];
	};
	for (const ring of scene.rings) for (const [x, y] of ring) grow(x, y);
	const stripOf = (rings, other) => {
		for (const ring of rings) for (let k = 0, x = 0, y = 0; k < ring.length; k += 2) { x += ring[k]; y += ring[k + 1]; grow(x / 100, y / 100); }
		return draw("path", { class: other ? "other" : "own", d: rings.map(r => "M" + r[0] + " " + r[1] + "l" + r.slice(2).join(" ") + "z").join("") }, ground);
	};
	// The ground between two bars. All turn the same way round, so that no two cancel out.
	const quad = (a, b) => {
		const p = [a[0], a[1], a[2], a[3], b[2], b[3], b[0], b[1]];
		let area = 0;
		for (let k = 0; k < 8; k += 2) area += p[k] * p[(k + 3) % 8] - p[(k + 2) % 8] * p[k + 1];
		const corners = area < 0 ? [0, 2, 4, 6] : [0, 6, 4, 2];
		return "M" + corners.map(k => p[k] + " " + -p[k + 1]).join("L") + "Z";
	};
	// Whether the ends of a bar lie on the way from one to another, but for 4 cm.
	const onWay = (a, s, b) => [0, 2].every(k => {
		const x = b[k] - a[k], y = b[k + 1] - a[k + 1];
		return Math.abs(x * (s[k + 1] - a[k + 1]) - y * (s[k] - a[k])) <= 0.04 * Math.hypot(x, y);
	});
	// A tail is the ground of a machine since the answer: bars that rest, of which those on
	// a straight way between two others are left out, and from the last of them to where
	// the bar is now.
	const tailOf = other => {
		const e = draw("path", { class: other ? "tail other" : "tail" }, null);
		over.prepend(e);
		const t = { first: 0, bars: [], anew: () => { t.rests = 1; t.d = ""; t.from = t.bars[0]; t.since = []; } };
		t.anew();
		t.draw = one => {
			const n = t.bars.length;
			t.from = t.from || t.bars[0];
			for (; t.rests < n - 1; t.rests++) {
				const b = t.bars[t.rests], last = t.since[t.since.length - 1];
				if (!b[4] && t.since.length < 40 && t.since.every(s => onWay(t.from, s, b))) { t.since.push(b); continue; }
				if (last) { t.d += quad(t.from, last); t.from = last; }
				t.since = [];
				if (b[4]) t.from = b; else t.since.push(b);
			}
			// By less than two pixels it is not drawn on, unless the bar has come to rest.
			const ends = one.works && one.at ? [...one.ends[0], ...one.ends[1]] : null, tip = ends || (n ? t.bars[n - 1] : [0, 0, 0, 0]), key = [t.first, !!ends, size, n > 0].join(" ");
			const nearly = (p, px) => p && [0, 1, 2, 3].every(k => Math.abs(tip[k] - p[k]) * size < px);
			const rests = nearly(t.came, 1e-9);
			t.came = tip;
			if (t.key === key && (nearly(t.tip, 1e-9) || !rests && nearly(t.tip, 2))) return;
			t.key = key;
			t.tip = tip;
			let d = t.d, at = t.from;
			const on = b => { if (at && !b[4]) d += quad(at, b); at = b; };
			if (t.since.length) on(t.since[t.since.length - 1]);
			if (n > 1) on(t.bars[n - 1]);
			if (ends && at && Math.hypot((at[0] + at[2]) / 2 - one.at[0], (at[1] + at[3]) / 2 - one.at[1]) < 12) on(ends);
			if (t.shown !== d) e.setAttribute("d", t.shown = d);
		};
		return t;
	};
	// What is drawn of each machine, its bar and its arrow, in pixels on a layer of its own:
	// while it goes straight on, only that layer is moved.
	const machines = [];
	const machineOf = i => {
		const layer = plane.appendChild(document.createElement("div")), svg = draw("svg", {}, layer);
		layer.className = "mover";
		const one = { layer, bar: draw("path", {}, svg), arrow: draw("path", { d: "M0-13L7 3L0-1L-7 3Z" }, svg) };
		if (latest.machines.length > 1 && scene.machines[i]) {
			one.name = draw("text", { x: 11, y: -9 }, svg);
			one.name.textContent = scene.machines[i].name;
		}
		return one;
	};
	const away = {}; // of other cabs' machines, where each was last
	const awayOf = name => {
		const e = draw("g", { class: "away" }, over);
		draw("circle", { r: 4 }, e);
		draw("text", { x: 8, y: 4 }, e).textContent = name;
		return e;
	};
	const attribute = (e, name, value) => { // the document itself is asked nothing: that takes longer
		const was = e.was || (e.was = {});
		if (was[name] !== value) e.setAttribute(name, was[name] = value);
	};
	let size = 0, turn = 0, laid = "", lies = "", w = 0, h = 0; // pixels to a metre; what is up, clockwise from north; the window
	const degrees = a => Math.round(a * 1800 / Math.PI) / 10;
	const upright = () => "scale(" + 1 / (size || 1) + ") rotate(" + degrees(turn) + ")"; // of what keeps its size and stands upright
	// A place to half a pixel: what moves by less is not drawn anew.
	const fine = p => p.map(v => Math.round(v * size * 2) / (size * 2));
	const pin = () => {
		pins.replaceChildren(...marks.map(mark => {
			const g = draw("g", { class: "pin", transform: "translate(" + mark.at[0] + " " + -mark.at[1] + ") " + upright() });
			const d = mark.skip ? "M-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0" : "M0-7L7 6L-7 6Z";
			draw("path", { class: "halo", d }, g);
			draw("path", { d }, g);
			// An opening's label is on the left and a skip's on the right, as both are often at one place.
			const leftward = !mark.skip && (near || box && (w - (box[2] - box[0]) * size) / 2 + (mark.at[0] - box[0]) * size > 35);
			draw("text", leftward ? { x: -9, y: 5, "text-anchor": "end" } : { x: 9, y: 5 }, g).textContent = mark.label;
			return g;
		}));
	};
	let near = false, wayUp = false;
	$("view").onclick = () => { near = !near; press($("view"), near); paint(); };
	$("up").onclick = () => { wayUp = !wayUp; press($("up"), wayUp); paint(); };
	// Lays the plane under the window.
	const lay = () => {
		const m = latest && latest.machines[chosen], at = m && m.at;
		const wide = box[2] - box[0], high = box[3] - box[1];
		const across = near && at ? Math.max(30, 5 * scene.machines[chosen].width_m) : 0;
		const up = wayUp && at ? m.heading : 0;
		const to = across ? Math.min(w, h) / across : wayUp ? Math.min(w, h) / Math.hypot(wide, high) : Math.min(w / wide, h / high);
		const whole = box.join(" ") + " " + to;
		const anew = whole !== laid;
		if (anew) {
			laid = whole;
			size = to;
			for (const s of sheets) {
				s.setAttribute("viewBox", box[0] + " " + -box[3] + " " + wide + " " + high);
				s.setAttribute("width", wide * size);
				s.setAttribute("height", high * size);
			}
			const unit = us ? 0.3048 : 1, room = w / 4 / size / unit, ten = 10 ** Math.floor(Math.log10(room)), long = ten * (room >= 5 * ten ? 5 : room >= 2 * ten ? 2 : 1);
			for (const e of document.querySelectorAll("#scale path")) e.setAttribute("d", "M0-6V0H" + long * unit * size + "V-6");
			for (const [id, unit] of [["ruled", 1], ["ruled-strips", 100]]) $(id).setAttribute("patternTransform", "scale(" + unit / size + ")");
			put("scale-says", number.format(long) + (us ? " ft" : " m"));
			pin();
		}
		if (anew || Math.abs(up - turn) > 0.02) {
			turn = up;
			attribute($("north"), "transform", "rotate(" + -degrees(turn) + ")");
			for (const [i, mark] of marks.entries()) if (pins.children[i]) attribute(pins.children[i], "transform", "translate(" + mark.at[0] + " " + -mark.at[1] + ") " + upright());
		}
		const mid = across ? at : [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
		const by = "translate(" + w / 2 + "px," + h / 2 + "px) rotate(" + -turn + "rad) translate(" + (box[0] - mid[0]) * size + "px," + (mid[1] - box[3]) * size + "px)";
		if (lies !== by) plane.style.transform = lies = by;
	};
	const paint = () => {
		if (!box || !w || !h) return;
		lay();
		if (latest) latest.others.forEach((one, i) => {
			if (others[i]) others[i].draw({});
			if (!one.at) return;
			const at = fine(one.at); // the newest journal of a machine tells
			attribute(away[one.name] || (away[one.name] = awayOf(one.name)), "transform", "translate(" + at[0] + " " + -at[1] + ") " + upright());
		});
		if (latest) latest.machines.forEach((one, i) => {
			if (tails[i]) tails[i].draw(one);
			if (!one.at) return;
			const e = machines[i] || (machines[i] = machineOf(i)), [x, y] = one.at;
			const to = "translate(" + Math.round((x - box[0]) * size) + "px," + Math.round((box[3] - y) * size) + "px)";
			if (e.to !== to) e.layer.style.transform = e.to = to;
			attribute(e.bar, "d", lineOf(one.ends.map(end => [Math.round((end[0] - x) * size), Math.round((end[1] - y) * size)])));
			attribute(e.bar, "class", one.works ? "bar works" : "bar");
			if (e.name) attribute(e.name, "transform", "rotate(" + degrees(turn) + ")");
			attribute(e.arrow, "transform", "rotate(" + 2 * Math.round(one.heading * 90 / Math.PI) + ")");
			attribute(e.arrow, "class", i === chosen ? "arrow" : "arrow other");
		});
	};
	new ResizeObserver(([e]) => { w = e.contentRect.width; h = e.contentRect.height; $("scale").setAttribute("transform", "translate(10 " + (h - 10) + ")"); $("compass").setAttribute("transform", "translate(" + (w - 22) + " 34)"); paint(); }).observe(drawing);
	window.cabPage = { take, state: () => latest, marks: () => marks, others: () => ({ bars: others.reduce((n, t) => n + t.first + t.bars.length, 0), strips: document.querySelectorAll(".strips .other").length, at: Object.keys(away) }), ground: () => ({ strips: strips.size, bars: tails.reduce((n, t) => n + t.first + t.bars.length, 0) }) }; // for whoever looks into it
	forget();
	choose(0);
	stayAwake();
	hear();
	paint();
})();
