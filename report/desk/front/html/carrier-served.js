"use strict";
// The carrier of the page that the program serves: questions and files go to the server
// that it came from, on this computer, which keeps them in the desk's folder.
const carrier = (() => {
  const listeners = new Set();
  const waiting = new Map(); // progress by the number of a question
  const closed = "this page is of a desk that was closed; open the address that lapwing printed";
  const silent = "the desk does not answer: lapwing may have been closed. Start it again; nothing is lost";
  let count = 0, opened = false, stopping = new AbortController();

  async function refuse(answer) {
    const text = (await answer.text()).trim();
    try {
      const { error } = JSON.parse(text);
      if (error) throw Object.assign(new Error(error.text || error.found), { told: true });
    } catch (wrong) { if (wrong.told) throw wrong; }
    throw new Error(answer.status === 401 || answer.status === 403 ? closed : text || "the desk answered " + answer.status);
  }
  async function bring(path, options) {
    try {
      return await fetch(path, { credentials: "same-origin", cache: "no-store", ...options });
    } catch (wrong) {
      if (wrong.name === "AbortError") throw wrong;
      throw new Error(silent);
    }
  }
  return {
    async open() {
      if (window.entered && !(await window.entered)) throw new Error(closed);
      const events = new EventSource("events");
      events.onmessage = e => {
        const news = JSON.parse(e.data), progress = waiting.get(news.id);
        if (progress) progress(news.text, news.share);
        else for (const hear of listeners) hear(news);
      };
      // Calls again by itself when it was cut off; what it missed, a look tells.
      events.onopen = () => { if (opened) for (const hear of listeners) hear({ changed: true }); opened = true; };
      return "";
    },
    async kept() { return true; },
    async ask(message, progress) {
      const id = String(++count) + Math.random().toString(36).slice(2);
      if (progress) waiting.set(id, progress);
      try {
        const answer = await bring("ask", { method: "POST", body: JSON.stringify(message), headers: { "Content-Type": "application/json", "Lapwing-Ask": id }, signal: stopping.signal });
        const bytes = new Uint8Array(await answer.arrayBuffer());
        if (!answer.ok && bytes[0] !== 123) await refuse(new Response(bytes, { status: answer.status }));
        return bytes;
      } finally { waiting.delete(id); }
    },
    addFile(path, blob, progress, signal) {
      return new Promise((done, fail) => {
        const sent = new XMLHttpRequest(); // fetch does not tell how far it is
        sent.open("POST", "files?name=" + encodeURIComponent(path));
        sent.upload.onprogress = e => { if (progress && e.lengthComputable) progress(e.loaded / e.total); };
        sent.onload = () => (sent.status < 300 ? done(path) : refuse(new Response(sent.responseText, { status: sent.status })).catch(fail));
        sent.onerror = () => fail(new Error(silent));
        sent.onabort = () => fail(new DOMException("stopped", "AbortError"));
        signal.addEventListener("abort", () => sent.abort(), { once: true });
        sent.send(blob);
      });
    },
    async cancel() {
      stopping.abort();
      stopping = new AbortController();
    },
    listen(hear) { listeners.add(hear); },
  };
})();
