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
        const asked = indexedDB.open("lapwing desk", 2);
        asked.onupgradeneeded = () => {
          for (const name of ["files", "tab"]) if (!asked.result.objectStoreNames.contains(name)) asked.result.createObjectStore(name);
        };
        asked.onsuccess = () => done(asked.result);
        asked.onerror = () => fail(asked.error);
        asked.onblocked = () => fail(new Error("another page holds it"));
        setTimeout(() => fail(new Error("it does not answer")), 10000);
      });
    },
    // One change: all of it or nothing. A file that is null goes. Nothing is changed from
    // a tab that another has taken the desk from.
    change(files) {
      return new Promise((done, fail) => {
        const change = this.db.transaction(["files", "tab"], "readwrite", { durability: "strict" });
        const kept = change.objectStore("files");
        change.oncomplete = () => done();
        change.onabort = change.onerror = () => fail(change.error || new Error("the browser's storage is full"));
        const holds = change.objectStore("tab").get("holds");
        holds.onsuccess = () => {
          try {
            if (holds.result !== tab) { leave(); throw new Error("the desk is open in another tab"); }
            for (const [name, file] of files) if (file) kept.put(file, name); else kept.delete(name);
          } catch (wrong) {
            fail(wrong);
            change.abort();
          }
        };
      });
    },
    // hold has the desk in this tab from now on.
    hold() {
      return new Promise((done, fail) => {
        const change = this.db.transaction("tab", "readwrite", { durability: "strict" });
        change.objectStore("tab").put(tab, "holds");
        change.oncomplete = () => done();
        change.onabort = change.onerror = () => fail(change.error);
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

  // One tab has the desk at a time: two engines would write over one another. A browser
  // without locks lets the tab have it that was opened last. What makes it safe is that a
  // change asks the storage who has it.
  const tab = Math.random().toString(36).slice(2), lock = "lapwing desk", patience = 5000; // ms
  let free = null, has = false, between = null;
  // take waits until this tab has the lock. elsewhere is called with what asks the other
  // tab for it, and with null once it is here.
  function take(elsewhere) {
    return new Promise(done => {
      const waits = new AbortController();
      const ask = options => navigator.locks.request(lock, options, () => {
        elsewhere(null);
        done();
        return new Promise(release => { free = release; });
      }).catch(wrong => { if (free) leave(); else if (wrong.name !== "AbortError") done(); });
      navigator.locks.query().then(({ held }) => {
        if (held.some(l => l.name === lock)) elsewhere(() => {
          between.postMessage("leave");
          setTimeout(() => { if (!free) { waits.abort(); ask({ steal: true }); } }, patience); // a tab that sleeps does not answer
        });
        ask({ signal: waits.signal });
      }).catch(done);
    });
  }
  // leave lets another tab have the desk, once all is kept.
  async function leave() {
    if (!has) return;
    has = false;
    worker.terminate();
    for (const hear of listeners) hear({ left: true });
    for (const asker of waiting.values()) asker.fail(new DOMException("the desk is open in another tab", "AbortError"));
    waiting.clear();
    await writing.catch(() => {});
    if (free) free();
  }

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
      if (box.db && !has) return fail(new DOMException("the desk is open in another tab", "AbortError"));
      waiting.set(id, { done, fail, progress });
      ready.then(() => { if (waiting.has(id)) worker.postMessage({ id, ...what }); }, fail);
    });
  }

  return {
    // Opens the desk; tells what of the storage is to be known. elsewhere is called with what
    // brings the desk here, where another tab has it, and with null once it is here.
    async open(elsewhere) {
      // From a host the page can be kept as an app; from a file it is one already.
      if (/^https?:$/.test(location.protocol)) {
        document.head.append(Object.assign(document.createElement("link"), { rel: "manifest", href: "manifest.webmanifest" }));
        if (navigator.serviceWorker) navigator.serviceWorker.register("sw.js").catch(() => {}); // without it the page works, with a net
      }
      let storage = "";
      try {
        await box.open();
        if (navigator.locks) {
          between = new BroadcastChannel(lock);
          between.onmessage = leave;
          await take(elsewhere);
        }
        await box.hold();
        has = true;
      } catch (_) {
        box.db = null;
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
    async addFile(path, blob, progress, signal) {
      const { name, error } = await question({ name: path });
      if (error) throw new Error(error);
      if (!box.db) blob = new Blob([await blob.arrayBuffer()]); // the stick may be pulled
      signal.throwIfAborted();
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
    // Has the engine ready for the first field.
    warm() { worker.postMessage({ warm: true }); },
    listen(hear) { listeners.add(hear); },
  };
})();
