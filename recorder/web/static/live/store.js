// Sound that the server has not yet acknowledged, on this device's own disk: it outlives a lost link,
// a reload and a crash of the browser. What is acknowledged is deleted.

const NAME = "seamnote-sound";
const AGAIN_MS = 1000;

const keyOf = (stretch, number) => `${stretch} ${number}`;
const rangeOf = (stretch, last) => IDBKeyRange.bound([stretch, 0], [stretch, last]);

function done(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

function finished(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

/** A stretch: { name, job, rate_hz, began_ms, after }. A chunk: bytes under [stretch, number]. */
export class Store {
  /** trouble(text): the disk of this device takes nothing more; null when it does again. */
  constructor(trouble) {
    this.trouble = trouble;
    this.chunks = new Map(); // that wait to be written; what is acknowledged before that never is
    this.stretchesNew = new Map();
    this.drops = new Map(); // stretch -> the last number that can go
    this.writing = false;
    this.failed = false;
  }

  async open() {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("stretches", { keyPath: "name" });
      request.result.createObjectStore("chunks");
    };
    this.base = await done(request);
    navigator.storage?.persist?.().catch(() => {});
  }

  keepStretch(stretch) {
    this.stretchesNew.set(stretch.name, stretch);
    this.write();
  }

  keepChunk(stretch, number, bytes) {
    this.chunks.set(keyOf(stretch, number), { stretch, number, bytes });
    this.write();
  }

  /** All chunks of a stretch before this number are on the server's disk. */
  drop(stretch, before) {
    if (before < 1) return;
    for (const [key, chunk] of this.chunks) {
      if (chunk.stretch === stretch && chunk.number < before) this.chunks.delete(key);
    }
    this.drops.set(stretch, before - 1);
    this.write();
  }

  dropStretch(stretch) {
    this.stretchesNew.delete(stretch);
    this.drop(stretch, Infinity);
  }

  /** What has come while one transaction ran goes into the next one together. */
  async write() {
    if (this.writing) return;
    this.writing = true;
    try {
      while (this.drops.size || this.chunks.size || this.stretchesNew.size) {
        await this.writeDrops();
        await this.writeNew();
      }
      if (this.failed) this.trouble(null);
      this.failed = false;
    } catch (error) {
      this.failed = true;
      this.trouble(
        error?.name === "QuotaExceededError"
          ? "This device has no room left for sound that is not yet sent. Free some storage, or bring the link back."
          : "This device cannot keep sound that is not yet sent. Keep this page open until the link is back.",
      );
      setTimeout(() => this.write(), AGAIN_MS);
    }
    this.writing = false;
  }

  async writeDrops() {
    if (!this.drops.size) return;
    const drops = new Map(this.drops);
    const transaction = this.transaction();
    for (const [stretch, last] of drops) {
      transaction.objectStore("chunks").delete(rangeOf(stretch, last));
      if (last === Infinity) transaction.objectStore("stretches").delete(stretch);
    }
    await finished(transaction);
    for (const [stretch, last] of drops) if (this.drops.get(stretch) === last) this.drops.delete(stretch);
  }

  async writeNew() {
    const chunks = new Map(this.chunks);
    const stretches = new Map(this.stretchesNew);
    if (!chunks.size && !stretches.size) return;
    const transaction = this.transaction();
    for (const stretch of stretches.values()) transaction.objectStore("stretches").put(stretch);
    for (const { stretch, number, bytes } of chunks.values()) {
      transaction.objectStore("chunks").put(bytes, [stretch, number]);
    }
    await finished(transaction);
    for (const key of chunks.keys()) this.chunks.delete(key);
    for (const name of stretches.keys()) this.stretchesNew.delete(name);
  }

  transaction() {
    return this.base.transaction(["stretches", "chunks"], "readwrite", { durability: "relaxed" });
  }

  async chunk(stretch, number) {
    const waiting = this.chunks.get(keyOf(stretch, number));
    if (waiting) return waiting.bytes;
    return done(this.base.transaction("chunks").objectStore("chunks").get([stretch, number]));
  }

  async stretches() {
    const all = await done(this.base.transaction("stretches").objectStore("stretches").getAll());
    return all.sort((one, other) => one.began_ms - other.began_ms);
  }

  /** Numbers of the first and last kept chunk of a stretch; null where there is none. */
  async kept(stretch) {
    const chunks = this.base.transaction("chunks").objectStore("chunks");
    const first = done(chunks.openKeyCursor(rangeOf(stretch, Infinity)));
    const last = done(chunks.openKeyCursor(rangeOf(stretch, Infinity), "prev"));
    const [one, other] = await Promise.all([first, last]);
    return one ? { first: one.key[1], last: other.key[1] } : null;
  }
}
