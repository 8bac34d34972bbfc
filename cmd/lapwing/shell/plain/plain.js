// The least page that a desk can have: files in, a list of fields, their pages.
"use strict";
(async () => {
	const says = document.getElementById("says"), jobs = document.getElementById("jobs");
	const ask = async message => {
		const answer = await fetch("ask", { method: "POST", body: JSON.stringify(message) });
		const text = await answer.text();
		if (!answer.ok) throw new Error(text.startsWith("{") ? JSON.parse(text).error.text : text);
		return JSON.parse(text);
	};
	const told = async work => {
		try {
			says.textContent = "at work";
			await work();
			says.textContent = "";
		} catch (wrong) {
			says.textContent = wrong.message;
		}
	};
	const look = async () => {
		const state = await ask({ do: "look" });
		jobs.replaceChildren(...(state.jobs || []).map(job => {
			const line = document.createElement("li"), button = document.createElement("button"), pages = document.createElement("span");
			button.type = "button";
			button.textContent = "Assess " + job.field;
			button.addEventListener("click", () => told(async () => {
				const found = await ask({ do: "assess", job: job.job });
				pages.replaceChildren(...(found.files || []).filter(name => name.endsWith(".html")).map(name => {
					const link = document.createElement("a");
					link.href = "/pages/" + name;
					link.textContent = " " + found.verdict;
					return link;
				}));
			}));
			line.append(button, pages);
			return line;
		}));
	};
	document.getElementById("pick").addEventListener("change", e => told(async () => {
		for (const file of e.target.files) {
			const answer = await fetch("files?name=" + encodeURIComponent(file.name), { method: "POST", body: file });
			if (!answer.ok) throw new Error((await answer.json()).error.text);
		}
		await look();
	}));
	if (!(await window.entered)) {
		says.textContent = "this page is of a desk that was closed; open the address that lapwing printed";
		return;
	}
	new EventSource("events").addEventListener("message", e => { if (JSON.parse(e.data).changed) told(look); });
	await told(look);
})();
