// Exchanges the key in the address for a cookie, and takes it out of the address
// and the history before anything else runs.
window.entered = (async () => {
	"use strict";
	const key = location.hash.slice(1);
	if (!/^[A-Z2-7]{26,}$/.test(key)) return true; // no key: a cookie may be there
	history.replaceState(history.state, "", location.pathname + location.search);
	const answer = await fetch("/enter", { method: "POST", body: key, credentials: "same-origin" });
	return answer.ok;
})();
