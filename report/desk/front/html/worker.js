// The worker of the page that is one file: it unpacks the engine and runs it. What runs
// before it is Go's own glue (wasm_exec.js).
"use strict";
self.lapwing = {
  tell(news) {
    const moved = [];
    for (const [, bytes] of news.put || []) moved.push(bytes.buffer);
    if (news.reply) moved.push(news.reply.buffer);
    postMessage(news, moved);
  },
  ready() { postMessage({ ready: true }); },
};

// The engine is written in 93 letters, two of them for 13 bits, the lowest first.
function unwritten(text, size) {
  const out = new Uint8Array(size), value = c => c - (c > 60 ? 34 : 33);
  let at = 0, held = 0, n = 0;
  for (let i = 0; i + 1 < text.length; i += 2) {
    if (text.charCodeAt(i) === 10) i++;
    held |= (value(text.charCodeAt(i)) + 93 * value(text.charCodeAt(i + 1))) << n;
    for (n += 13; n >= 8; n -= 8) { out[at++] = held; held >>>= 8; }
  }
  return out; // a last byte too many is not kept
}

async function start(engine, size) {
  const packed = new Blob([unwritten(engine, size)]).stream();
  const unpacked = new Response(packed.pipeThrough(new DecompressionStream("gzip")), { headers: { "Content-Type": "application/wasm" } });
  const go = new Go();
  const { instance } = await WebAssembly.instantiateStreaming(unpacked, go.importObject);
  await go.run(instance);
  throw new Error("the engine ended");
}

onmessage = ({ data }) => {
  if (data.engine !== undefined) {
    start(data.engine, data.size).catch(wrong => postMessage({ failed: String(wrong) }));
  } else if (data.add) {
    for (const [name, { blob, at }] of data.add) lapwing.add(name, blob, at);
  } else if (data.warm) {
    lapwing.warm();
  } else if (data.name !== undefined) {
    postMessage({ id: data.id, ...lapwing.name(data.name) });
  } else {
    lapwing.ask(data.id, data.message);
  }
};
