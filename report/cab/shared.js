// The ground of other cabs: on a sheet of its own, ruled, so that it is told from this
// cab's whatever the colours are. It knows nothing of the rest of the page but where the
// drawing has its places.
const sharedGround = rings => {
	"use strict";
	const sheet = document.createElement("canvas"), pen = sheet.getContext("2d");
	const most = 2000, margin = 60; // pixels; m
	let all = [], done = [], box = null, scale = 1, ruled = null;
	const corners = bar => [[bar[0], bar[1]], [bar[2], bar[3]]];
	const quad = (a, b) => {
		pen.beginPath();
		for (const [x, y] of [[a[0], a[1]], [a[2], a[3]], [b[2], b[3]], [b[0], b[1]]]) pen.lineTo((x - box[0]) * scale, (box[3] - y) * scale);
		pen.fill();
	};
	// The last bar still moves: it goes onto the sheet with the next.
	const paint = i => {
		const bars = all[i].bars;
		for (let k = Math.max(1, done[i]); k < bars.length - 1; k++) if (!bars[k][4]) quad(bars[k - 1], bars[k]);
		done[i] = Math.max(done[i], bars.length - 1);
	};
	const outside = ([x, y]) => !box || x < box[0] || y < box[1] || x > box[2] || y > box[3];
	const repaint = () => {
		box = null;
		for (const ring of rings.concat(all.map(g => g.bars.flatMap(corners)))) for (const [x, y] of ring) {
			box = box ? [Math.min(box[0], x), Math.min(box[1], y), Math.max(box[2], x), Math.max(box[3], y)] : [x, y, x, y];
		}
		if (!box) return;
		box = [box[0] - margin, box[1] - margin, box[2] + margin, box[3] + margin];
		scale = Math.min(8, most / Math.max(box[2] - box[0], box[3] - box[1]));
		sheet.width = Math.ceil((box[2] - box[0]) * scale);
		sheet.height = Math.ceil((box[3] - box[1]) * scale);
		pen.fillStyle = ruled;
		done = all.map(() => 0);
		all.forEach((_, i) => paint(i));
	};
	return {
		colour: ink => {
			const rule = document.createElement("canvas");
			rule.width = rule.height = 6;
			const line = rule.getContext("2d");
			line.fillStyle = ink;
			line.globalAlpha = 0.16;
			line.fillRect(0, 0, 6, 6);
			line.globalAlpha = 0.75;
			line.fillRect(0, 0, 6, 1.5);
			ruled = pen.createPattern(rule, "repeat");
			repaint();
		},
		have: () => all.map(g => g.bars.length).join(),
		take: ground => {
			let wider = false;
			ground.forEach((g, i) => {
				if (!all[i]) { all[i] = { bars: [] }; done[i] = 0; }
				const one = all[i];
				one.name = g.name;
				one.at = g.at;
				one.bars.length = Math.min(one.bars.length, g.from);
				for (const bar of g.bars) { one.bars.push(bar); wider = wider || corners(bar).some(outside); }
			});
			if (wider) repaint();
			else all.forEach((_, i) => paint(i));
		},
		// on has its origin at a place of the field, and pixels for metres.
		draw: (on, mid, size, turn) => {
			if (!box || !all.length) return;
			on.save();
			on.rotate(-turn);
			on.scale(size / scale, size / scale);
			on.drawImage(sheet, -(mid[0] - box[0]) * scale, -(box[3] - mid[1]) * scale);
			on.restore();
		},
		// Where each machine was last: its newest journal tells.
		places: () => { const at = {}; for (const g of all) if (g.at) at[g.name] = g.at; return Object.entries(at); },
	};
};
