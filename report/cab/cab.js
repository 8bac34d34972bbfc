// The page of the cab: it asks for the scene once, hears updates as they come, places
// their texts and draws the ground.
(async () => {
	"use strict";
	const $ = id => document.getElementById(id);
	const put = (id, text) => { const e = $(id); if (e.textContent !== text) e.textContent = text; };
	const entered = await window.entered;
	if (!entered) { put("verdict", "This address is of another run: open the one that the program printed."); return; }
	const asked = await fetch("scene.json");
	if (!asked.ok) { put("verdict", "No key: open the address that the program printed."); return; }
	const scene = await asked.json();

	const cautions = $("cautions");
	if (!sessionStorage.getItem("agreed")) cautions.showModal();
	$("agreed").onclick = () => { sessionStorage.setItem("agreed", "1"); cautions.close(); stayAwake(); };

	put("field", scene.field);
	put("open", scene.open);
	put("look", scene.look ? "Others may look, and switch nothing, at " + scene.look : "");
	const bars = scene.machines.map(() => []);
	let chosen = 0, answer = -1, latest = null, marks = [], drive = [], undo = null;

	const shared = sharedGround(scene.rings);

	// ---- what comes
	let source = null;
	const hear = () => {
		if (source) source.close();
		source = new EventSource("events?answer=" + answer + "&bars=" + bars.map(b => b.length).join(",") + "&ground=" + shared.have());
		source.addEventListener("now", e => take(JSON.parse(e.data)));
		source.onerror = () => { // it catches up from what it has
			source.close();
			source = null;
			put("signal", "no connection to the cab");
			$("signal").className = "bad";
			setTimeout(hear, 1000);
		};
	};
	const take = up => {
		latest = up;
		answer = up.answer;
		if (up.marks) { marks = up.marks; drive = up.drive || []; places(); put("drive", up.driveSay || (marks.length ? "" : "None so far.")); }
		up.machines.forEach((m, i) => {
			const had = bars[i].length;
			bars[i].length = Math.min(bars[i].length, m.from);
			for (const b of m.bars) bars[i].push(b);
			paint(i, Math.min(had, m.from));
		});
		shared.take(up.ground);
		show();
	};
	const shares = all => { // a line of each, changed only where it says something else
		while ($("shares").children.length > all.length) $("shares").lastChild.remove();
		all.forEach((s, i) => {
			const li = $("shares").children[i] || $("shares").appendChild(document.createElement("li"));
			if (li.textContent !== s.text) li.textContent = s.text;
			li.className = s.bad ? "bad" : "";
		});
	};
	const show = () => {
		const m = latest.machines[chosen];
		put("verdict", latest.verdict);
		put("also", latest.also);
		put("left-over", latest.field);
		shares(latest.shares);
		put("closed", latest.edge);
		put("opening", m.opening);
		put("signal", m.signal);
		$("signal").className = m.signal ? "bad" : "";
		side("left", m.left);
		side("right", m.right);
		put("works", (m.works ? "The bar works, " : "The bar is up, ") + m.told + ".");
		put("tanks", "");
		for (const t of m.tanks) { const li = document.createElement("li"); li.textContent = t; $("tanks").append(li); }
		$("filled").hidden = !(scene.drives && scene.machines[chosen].tanks);
		$("switching").hidden = !(scene.switches && scene.drives);
		$("bar").setAttribute("aria-pressed", m.down);
		put("bar", m.down ? "Bar is down: lift it" : "Bar is up: lower it");
		[...$("sections").children].forEach((b, i) => b.setAttribute("aria-pressed", !m.bits || m.bits[i] === "1"));
		sound(m);
		requestAnimationFrame(draw);
	};
	const side = (id, f) => {
		const e = $(id);
		e.className = "side " + f.kind;
		e.querySelector("use").setAttribute("href", "#" + f.kind);
		const [figure, word] = e.querySelectorAll("p");
		if (figure.textContent !== f.text) figure.textContent = f.text;
		if (word.textContent !== f.word) word.textContent = f.word;
	};
	const places = () => {
		$("places").replaceChildren(...marks.map(m => { const li = document.createElement("li"); li.textContent = m.name; return li; }));
	};
	const ways = () => { // how far each place is from the bar now
		const at = latest && latest.machines[chosen].at;
		if (!at) return;
		[...$("places").children].forEach((li, i) => {
			const x = marks[i].at[0] - at[0], y = marks[i].at[1] - at[1];
			const compass = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"][Math.round(Math.atan2(x, y) / Math.PI * 4 + 8) % 8];
			const d = Math.hypot(x, y), us = scene.units === "us";
			const text = marks[i].name + "; " + Math.round(us ? d / 0.3048 : d) + (us ? " ft " : " m ") + compass;
			if (li.textContent !== text) li.textContent = text;
		});
	};
	setInterval(ways, 1000);

	// ---- switching
	const order = async (body, path) => {
		const r = await fetch(path || "bar", { method: "POST", body: JSON.stringify({ machine: scene.machines[chosen].name, ...body }) });
		if (!r.ok) put("works", await r.text());
		return r.ok;
	};
	const bitsNow = m => m.bits || "1".repeat(scene.machines[chosen].sections);
	const switchTo = async (body, back) => {
		if (!await order(body)) return;
		undo = back;
		$("undo").disabled = !undo;
		const m = latest.machines[chosen];
		if (body.down !== undefined) m.down = body.down;
		if (body.sections !== undefined) m.bits = body.sections;
		show();
	};
	const toggle = () => { const was = latest.machines[chosen].down; switchTo({ down: !was }, { down: was }); };
	const toggleSection = i => {
		const was = bitsNow(latest.machines[chosen]);
		if (i < was.length && was.length > 1) switchTo({ sections: was.slice(0, i) + (was[i] === "1" ? "0" : "1") + was.slice(i + 1) }, { sections: was });
	};
	$("bar").onclick = toggle;
	$("undo").onclick = () => undo && switchTo(undo, null);
	$("filled").onclick = () => order({}, "fill");
	document.addEventListener("keydown", e => {
		if (!latest || cautions.open || !scene.switches || !scene.drives || e.repeat || e.ctrlKey || e.metaKey || e.altKey || /INPUT|BUTTON|SUMMARY|A/.test(e.target.tagName)) return;
		if (e.key === " ") { e.preventDefault(); toggle(); }
		else if (e.key === "u") $("undo").click();
		else if (/^[1-9]$/.test(e.key)) toggleSection(+e.key - 1);
	});
	const choose = i => {
		chosen = i;
		undo = null;
		$("undo").disabled = true;
		const n = scene.machines[i].sections;
		$("sections").replaceChildren(...(n > 1 ? Array.from({ length: n }, (_, k) => {
			const b = document.createElement("button");
			b.textContent = k + 1;
			b.onclick = () => toggleSection(k);
			return b;
		}) : []));
		[...$("machines").children].forEach((b, k) => b.setAttribute("aria-pressed", k === i));
		if (latest) show();
	};
	if (scene.machines.length > 1) {
		$("machines").hidden = false;
		$("machines").append(...scene.machines.map((m, i) => { const b = document.createElement("button"); b.textContent = m.name; b.onclick = () => choose(i); return b; }));
	}

	// ---- tone and screen
	let audio = null, beeped = 0;
	$("tone").onchange = () => { if ($("tone").checked) audio = audio || new AudioContext(); };
	const sound = m => {
		const most = +$("wider").value / 100;
		if (!$("tone").checked || !audio || Math.max(m.left.gap_m, m.right.gap_m) <= most || Date.now() - beeped < 1500) return;
		beeped = Date.now();
		const tone = audio.createOscillator();
		tone.frequency.value = 620;
		tone.connect(audio.destination);
		tone.start();
		tone.stop(audio.currentTime + 0.25);
	};
	const stayAwake = async () => {
		if (!navigator.wakeLock) { put("awake", "This page cannot keep the screen on: set the phone's display to stay on (Settings, Display, Screen timeout or Auto-Lock)."); return; }
		try { await navigator.wakeLock.request("screen"); put("awake", "The screen stays on while this page is in front."); }
		catch { put("awake", "The screen may go dark: set the phone's display to stay on (Settings, Display, Screen timeout or Auto-Lock)."); }
	};
	document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") { stayAwake(); if (!source) hear(); } });

	// ---- the drawing
	const canvas = $("drawing"), pen = canvas.getContext("2d");
	const colour = {};
	const colours = () => {
		const css = getComputedStyle(document.documentElement);
		for (const name of ["ink", "soft", "rule", "card", "skip", "overlap"]) colour[name] = css.getPropertyValue("--" + name).trim();
		shared.colour(colour.ink);
	};
	// The ground is painted once, north up, on a sheet of its own.
	const sheet = document.createElement("canvas"), ground = sheet.getContext("2d");
	const most = 2000;
	let box = null, scale = 1;
	const grow = (x, y) => { box = box ? [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x), Math.max(box[3], y)] : [x, y, x, y]; };
	for (const ring of scene.rings) for (const [x, y] of ring) grow(x, y);
	let bounds = "";
	const quad = (to, a, b, at) => {
		to.beginPath();
		for (const p of [[a[0], a[1]], [a[2], a[3]], [b[2], b[3]], [b[0], b[1]]]) { const [x, y] = at(p); to.lineTo(x, y); }
		to.fill();
	};
	const onSheet = ([x, y]) => [(x - box[0]) * scale, (box[3] - y) * scale];
	const repaint = () => {
		const margin = 30;
		box = [box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin];
		scale = Math.min(8, most / Math.max(box[2] - box[0], box[3] - box[1]));
		sheet.width = Math.ceil((box[2] - box[0]) * scale);
		sheet.height = Math.ceil((box[3] - box[1]) * scale);
		bounds = box.join();
		ground.fillStyle = colour.ink;
		ground.globalAlpha = 0.28;
		bars.forEach((b, i) => { for (let k = 1; k < b.length - 1; k++) if (!b[k][4]) quad(ground, b[k - 1], b[k], onSheet); });
	};
	const done = scene.machines.map(() => 0); // bars that are on the sheet
	const paint = (i, from) => {
		const b = bars[i], old = box && box.join();
		for (let k = Math.max(0, from); k < b.length; k++) {
			if (box && b[k][0] > box[0] && b[k][0] < box[2] && b[k][1] > box[1] && b[k][1] < box[3] && b[k][2] > box[0] && b[k][2] < box[2] && b[k][3] > box[1] && b[k][3] < box[3]) continue;
			grow(b[k][0], b[k][1]);
			grow(b[k][2], b[k][3]);
		}
		if (!box) return;
		if (bounds === "" || box.join() !== bounds && old !== box.join()) {
			repaint();
			bars.forEach((all, n) => done[n] = Math.max(0, all.length - 1));
			return;
		}
		ground.fillStyle = colour.ink;
		ground.globalAlpha = 0.28;
		// The last bar still moves: it goes onto the sheet with the next.
		for (let k = Math.max(1, done[i]); k < b.length - 1; k++) if (!b[k][4]) quad(ground, b[k - 1], b[k], onSheet);
		done[i] = Math.max(done[i], b.length - 1);
	};
	let near = false, wayUp = false;
	$("view").onclick = () => { near = !near; $("view").setAttribute("aria-pressed", near); draw(); };
	$("up").onclick = () => { wayUp = !wayUp; $("up").setAttribute("aria-pressed", wayUp); draw(); };
	const draw = () => {
		const w = canvas.clientWidth, h = canvas.clientHeight, dpr = Math.min(2, devicePixelRatio || 1);
		if (canvas.width !== Math.round(w * dpr) || canvas.height !== Math.round(h * dpr)) { canvas.width = Math.round(w * dpr); canvas.height = Math.round(h * dpr); }
		pen.setTransform(dpr, 0, 0, dpr, 0, 0);
		pen.fillStyle = colour.card;
		pen.fillRect(0, 0, w, h);
		if (!box) return;
		const m = latest && latest.machines[chosen], at = m && m.at;
		const turn = wayUp && at ? m.heading : 0;
		const across = near && at ? Math.max(30, 5 * scene.machines[chosen].width_m) : 0;
		const wide = box[2] - box[0], high = box[3] - box[1];
		const size = across ? Math.min(w, h) / across : turn ? Math.min(w, h) / Math.hypot(wide, high) : Math.min(w / wide, h / high);
		const mid = across ? at : [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2];
		const sin = Math.sin(turn), cos = Math.cos(turn);
		const to = ([x, y]) => { const e = x - mid[0], n = y - mid[1]; return [w / 2 + (e * cos - n * sin) * size, h / 2 - (e * sin + n * cos) * size]; };
		pen.save();
		pen.translate(w / 2, h / 2);
		pen.rotate(-turn);
		pen.scale(size / scale, size / scale);
		pen.translate(-(mid[0] - box[0]) * scale, -(box[3] - mid[1]) * scale);
		pen.imageSmoothingEnabled = true;
		pen.drawImage(sheet, 0, 0);
		pen.restore();
		pen.save();
		pen.translate(w / 2, h / 2);
		shared.draw(pen, mid, size, turn);
		pen.restore();
		pen.fillStyle = colour.ink;
		pen.globalAlpha = 0.28; // what is not on the sheet yet
		bars.forEach((b, i) => { for (let k = Math.max(1, done[i]); k < b.length; k++) if (!b[k][4]) quad(pen, b[k - 1], b[k], to); });
		latest && latest.machines.forEach((one, i) => { // up to where the bar is now
			const b = bars[i], last = b[b.length - 1];
			if (!one.works || !last || Math.hypot((last[0] + last[2]) / 2 - one.at[0], (last[1] + last[3]) / 2 - one.at[1]) > 12) return;
			quad(pen, last, [one.ends[0][0], one.ends[0][1], one.ends[1][0], one.ends[1][1]], to);
		});
		pen.globalAlpha = 1;
		const line = (points, style, width, dash, close) => {
			pen.beginPath();
			for (const p of points) { const [x, y] = to(p); pen.lineTo(x, y); }
			if (close) pen.closePath();
			pen.strokeStyle = style;
			pen.lineWidth = width;
			pen.setLineDash(dash || []);
			pen.stroke();
			pen.setLineDash([]);
		};
		for (const ring of scene.rings) line(ring, colour.ink, 1.5, null, true);
		pen.font = "13px Georgia, serif";
		pen.fillStyle = pen.strokeStyle = colour.ink;
		pen.lineWidth = 1.2;
		for (const [name, at] of shared.places()) {
			const [x, y] = to(at);
			pen.beginPath();
			pen.arc(x, y, 4, 0, 7);
			pen.stroke();
			pen.fillText(name, x + 8, y + 4);
		}
		if (drive.length) line(drive, colour.overlap, 2, [7, 5]);
		for (const mark of marks) {
			const [x, y] = to(mark.at);
			pen.beginPath();
			if (mark.skip) pen.arc(x, y, 6, 0, 7); else { pen.moveTo(x, y - 7); pen.lineTo(x + 7, y + 6); pen.lineTo(x - 7, y + 6); pen.closePath(); }
			pen.strokeStyle = colour.skip;
			pen.lineWidth = 2.5;
			pen.stroke();
		}
		latest && latest.machines.forEach((one, i) => {
			if (!one.at) return;
			line(one.ends, one.works ? colour.ink : colour.soft, one.works ? 5 : 2, one.works ? null : [4, 4]);
			const [x, y] = to(one.at);
			pen.save();
			pen.translate(x, y);
			pen.rotate(one.heading - turn);
			pen.beginPath();
			pen.moveTo(0, -13); pen.lineTo(7, 3); pen.lineTo(0, -1); pen.lineTo(-7, 3); pen.closePath();
			pen.fillStyle = i === chosen ? colour.ink : colour.soft;
			pen.fill();
			pen.strokeStyle = colour.card;
			pen.lineWidth = 1;
			pen.stroke();
			pen.restore();
		});
		// North, as a surveyor draws it, and a scale.
		pen.save();
		pen.translate(w - 22, 30);
		pen.rotate(-turn);
		pen.strokeStyle = colour.ink;
		pen.fillStyle = colour.ink;
		pen.lineWidth = 1.2;
		pen.beginPath(); pen.moveTo(0, 16); pen.lineTo(0, -16); pen.moveTo(-5, -8); pen.lineTo(0, -18); pen.lineTo(5, -8); pen.stroke();
		pen.font = "11px Georgia, serif";
		pen.textAlign = "center";
		pen.fillText("N", 0, -20);
		pen.restore();
	};
	colours();
	matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { colours(); if (box) repaint(); draw(); });
	addEventListener("resize", draw);
	if (box) repaint();
	choose(0);
	stayAwake();
	hear();
	draw();
	window.cabPage = { bars, shared, state: () => latest }; // for whoever looks into it
})();
