"use strict";
// The carrier of the page that is one file: questions go to the engine in a worker, and
// the browser's own storage keeps the files of the desk.
const carrier = (() => {
  // The storage of the browser. Some refuse it, to a page from a file or in a private
  // window: then files live as long as the page.
  const box = {
    db: null,
    async open() {
      this.db = await new Promise((done, fail) => {
        const asked = indexedDB.open("lapwing desk", 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore("files");
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => fail(asked.error);
        asked.onblocked = () => fail(new Error("another page holds it"));
        setTimeout(() => fail(new Error("it does not answer")), 10000);
      });
    },
    // One change: all of it or nothing. A file that is null goes.
    change(files) {
      return new Promise((done, fail) => {
        const change = this.db.transaction("files", "readwrite", { durability: "strict" });
        const kept = change.objectStore("files");
        change.oncomplete = () => done();
        change.onabort = change.onerror = () => fail(change.error || new Error("the browser's storage is full"));
        try {
          for (const [name, file] of files) if (file) kept.put(file, name); else kept.delete(name);
        } catch (wrong) {
          fail(wrong);
          change.abort();
        }
      });
    },
    read(what) {
      return new Promise((done, fail) => {
        const asked = what(this.db.transaction("files").objectStore("files"));
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => fail(asked.error);
      });
    },
  };

  let worker = null, ready = null, count = 0;
  let failing = false; // the last change could not be kept
  let writing = Promise.resolve(); // changes are kept one after the other
  const waiting = new Map(); // questions without an answer
  // What the browser has not kept: all, where it keeps nothing, else what it could not
  // take, which goes with the next change. It lives as long as the page.
  const held = new Map();
  const listeners = new Set();

  function keep(put, removed) {
    const files = [...removed.map(name => [name, null]), ...put.map(([name, bytes, at]) => [name, { blob: bytes instanceof Blob ? bytes : new Blob([bytes]), at }])];
    const turn = writing.catch(() => {}).then(async () => {
      for (const [name, file] of files) held.set(name, file);
      if (!box.db) return;
      await box.change(held);
      held.clear();
      if (failing) for (const hear of listeners) hear({ storage: "" });
      failing = false;
    });
    turn.catch(wrong => {
      failing = true;
      for (const hear of listeners) hear({ storage: String(wrong.message || wrong) });
    });
    writing = turn;
    return turn;
  }

  function start() {
    const code = document.getElementById("worker").textContent;
    const source = URL.createObjectURL(new Blob([code], { type: "text/javascript" }));
    worker = new Worker(source);
    URL.revokeObjectURL(source);
    ready = new Promise((done, fail) => {
      worker.onerror = e => fail(new Error(e.message || "the engine does not start"));
      worker.onmessage = ({ data }) => {
        if (data.ready) return done();
        if (data.failed) return fail(new Error(data.failed));
        if (data.put) return void keep(data.put, data.removed);
        const asker = waiting.get(data.id);
        if (!asker) return;
        if (data.text !== undefined) return asker.progress && asker.progress(data.text, data.share);
        waiting.delete(data.id);
        // What the answer tells of is kept before it is told.
        writing.catch(() => {}).then(() => asker.done(data.reply || data));
      };
    });
    const engine = document.getElementById("engine");
    worker.postMessage({ engine: engine.textContent, size: Number(engine.dataset.size) });
    ready = ready.then(async () => {
      const files = new Map();
      if (box.db) {
        const [names, kept] = await Promise.all([box.read(s => s.getAllKeys()), box.read(s => s.getAll())]);
        names.forEach((name, i) => files.set(name, kept[i]));
      }
      for (const [name, file] of held) files.set(name, file);
      worker.postMessage({ add: [...files].filter(([, file]) => file) });
    });
    return ready;
  }

  // A question that waits for the engine can be stopped as one that it works on can.
  function question(what, progress) {
    const id = ++count;
    return new Promise((done, fail) => {
      waiting.set(id, { done, fail, progress });
      ready.then(() => { if (waiting.has(id)) worker.postMessage({ id, ...what }); }, fail);
    });
  }

  return {
    // Opens the desk; tells what of the storage is to be known.
    async open() {
      // From a host the page can be kept as an app; from a file it is one already.
      if (/^https?:$/.test(location.protocol)) {
        document.head.append(Object.assign(document.createElement("link"), { rel: "manifest", href: "manifest.webmanifest" }));
        if (navigator.serviceWorker) navigator.serviceWorker.register("sw.js").catch(() => {}); // without it the page works, with a net
      }
      let storage = "";
      try {
        await box.open();
      } catch (_) {
        storage = "This browser keeps nothing for a page like this: when you close it, all is gone. Save the desk as a zip first: it opens here again, or in lapwing on a computer.";
      }
      await start();
      return storage;
    },
    // Whether the browser says that it will not clear its storage by itself.
    async kept() {
      try {
        return box.db !== null && (await navigator.storage.persisted() || await navigator.storage.persist());
      } catch (_) { return false; }
    },
    ask(message, progress) { return question({ message: JSON.stringify(message) }, progress); },
    async addFile(path, blob, progress) {
      const { name, error } = await question({ name: path });
      if (error) throw new Error(error);
      if (!box.db) blob = new Blob([await blob.arrayBuffer()]); // the stick may be pulled
      const at = Date.now();
      try {
        await keep([[name, blob, at]], []);
      } catch (wrong) {
        held.delete(name); // it is not on the desk
        throw new Error("the browser could not keep it: " + (wrong.message || wrong));
      }
      worker.postMessage({ add: [[name, box.db ? await box.read(s => s.get(name)) : { blob, at }]] });
      if (progress) progress(1);
      return name;
    },
    // Ends what is being reckoned. Nothing is lost: what was told of is kept.
    async cancel() {
      worker.terminate();
      for (const asker of waiting.values()) asker.fail(new DOMException("stopped", "AbortError"));
      waiting.clear();
      ready = writing.catch(() => {}).then(start); // what is asked from here on waits for the next engine
      await ready;
    },
    listen(hear) { listeners.add(hear); },
  };
})();
