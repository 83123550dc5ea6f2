// Sound from this device to the server's disk: every chunk once and in order, whatever happens to the
// link, to this page, or to the server. Each is kept here until the server says that it is there.

const WINDOW = 60; // chunks on their way without an acknowledgement
const NEAR = 120; // chunks of the running stretch that are also in memory
const MOST_WAITING_BYTES = 1500000;
const AGAIN_MS = 1000; // chunks behind a damaged one all ask for the same one again
const LEFT_MS = 5000; // how often stretches that other pages left are looked for
const TRY_AGAIN_MS = 3000;
const LATE_S = 3; // what is on its way while the job ends is nothing to tell of

const lockOf = (stretch) => `seamnote-stretch-${stretch}`;

export class Sender {
  /** job: its id. link: to the server. on: saved(seconds), unsent(seconds), trouble(text), broken(line):
   *  the stretch ends before a chunk that is lost, and what follows needs a new one */
  constructor(job, store, on) {
    Object.assign(this, { job, store, on });
    this.link = null;
    this.lines = []; // stretches with something to send, oldest first
    this.pumping = false;
    this.turn = 0; // counts links, so that what was meant for an older one is not done
  }

  async begin(link) {
    this.link = link;
    await this.gather();
    this.looking = setInterval(() => this.gather(), LEFT_MS);
  }

  /** What is not sent stays for another page. */
  stop() {
    clearInterval(this.looking);
    this.link = null;
    for (const line of this.lines) line.release?.();
    this.lines = [];
  }

  // ---- the running stretch ----

  /** stretch: { name, rate_hz, began_ms, after } */
  start(stretch) {
    const kept = { ...stretch, job: this.job };
    const line = newLine(kept);
    line.mine = true;
    line.near = new Map();
    // While this page lives, no other page of this browser takes the stretch for a left one.
    navigator.locks?.request(lockOf(stretch.name), () => new Promise((release) => (line.release = release)));
    this.store.keepStretch(kept);
    this.lines.push(line);
    this.pump();
    return line;
  }

  add(line, bytes) {
    if (line.over) return; // the job has ended, and nothing of what follows is anybody's
    const number = line.made++;
    line.near.set(number, bytes);
    if (line.near.size > NEAR) line.near.delete(line.near.keys().next().value);
    this.store.keepChunk(line.stretch.name, number, bytes);
    this.tellUnsent();
    this.pump();
  }

  finish(line) {
    line.ended = true;
    this.settle(line);
    this.pump();
  }

  // ---- stretches that another page, or this one before a reload, left ----

  async gather() {
    for (const stretch of await this.store.stretches()) {
      if (this.lines.some((line) => line.stretch.name === stretch.name)) continue;
      if (stretch.job !== this.job) continue;
      await this.claim(lockOf(stretch.name), async (release) => {
        const kept = await this.store.kept(stretch.name);
        if (!kept) {
          this.store.dropStretch(stretch.name);
          release();
          return;
        }
        const line = newLine(stretch);
        line.made = kept.last + 1;
        line.acked = kept.first;
        line.ended = true;
        line.release = release;
        this.lines.push(line);
        this.lines.sort((one, other) => one.stretch.began_ms - other.stretch.began_ms);
      });
    }
    this.pump();
  }

  /** Resolves once it is known whether the lock is ours; it stays ours until it is released. */
  claim(name, take) {
    if (!navigator.locks) return take(() => {});
    return new Promise((resolve) => {
      navigator.locks.request(name, { ifAvailable: true }, async (lock) => {
        if (!lock) return resolve();
        return new Promise((release) => take(release).then(resolve, resolve));
      });
    });
  }

  // ---- sending ----

  opened() {
    this.turn += 1;
    for (const line of this.lines) line.state = "new";
    this.pump();
  }

  closed() {
    this.turn += 1;
  }

  async pump() {
    if (this.pumping) {
      this.again = true;
      return;
    }
    this.pumping = true;
    do {
      this.again = false;
      const line = this.lines[0];
      if (!line || !this.link?.open) break;
      if (line.state === "new") {
        const { name, rate_hz, began_ms, after } = line.stretch;
        line.state = "asked";
        this.link.say({ do: "stretch", name, rate_hz, began_ms, after });
        this.link.owe();
      }
      if (line.state === "open") await this.push(line, this.turn);
    } while (this.again);
    this.pumping = false;
  }

  async push(line, turn) {
    while (line.sent < line.made && line.sent - line.acked < WINDOW && this.link.waiting < MOST_WAITING_BYTES) {
      const number = line.sent;
      const bytes = line.near?.get(number) ?? (await this.store.chunk(line.stretch.name, number));
      if (turn !== this.turn || line.state !== "open" || line.sent !== number) return;
      if (!bytes) {
        if (number < line.acked) continue;
        this.on.trouble("Some sound that this device kept could not be read again.");
        line.made = number; // the server would refuse whatever comes behind the hole
        line.ended = true;
        this.on.broken(line);
        this.settle(line);
        return;
      }
      if (!this.link.send(bytes)) return;
      this.link.owe();
      line.sent = number + 1;
    }
  }

  told(message) {
    const line = this.lines.find((each) => each.stretch.name === message.stretch);
    if (message.saved_s != null) this.on.saved(message.saved_s);
    if (!line) return;
    if (message.do === "over") {
      const lost = (line.made - line.acked) / 10;
      if (lost > LATE_S) this.on.trouble(`${Math.round(lost)} s of sound came after the end of the job and are not in it.`);
      line.made = line.acked = line.sent;
      line.ended = line.over = true;
      this.settle(line);
      return;
    }
    if (message.do === "again") {
      const now = performance.now();
      if (line.againFor === message.next && now - line.againAt < AGAIN_MS) return;
      line.againFor = message.next;
      line.againAt = now;
    }
    line.acked = Math.max(line.acked, message.next);
    if (line.state === "asked" || message.do === "again") {
      line.sent = message.next;
      line.acked = message.next;
      line.state = "open";
    }
    if (line.near) for (const number of line.near.keys()) if (number < line.acked) line.near.delete(number);
    this.store.drop(line.stretch.name, line.acked);
    if (line.acked < line.sent) this.link.owe();
    this.settle(line);
    this.tellUnsent();
    this.pump();
  }

  /** The server could not keep it: everything is sent again after a while. */
  refused() {
    clearTimeout(this.later);
    this.later = setTimeout(() => {
      for (const line of this.lines) line.state = "new";
      this.pump();
    }, TRY_AGAIN_MS);
  }

  settle(line) {
    if (!line.ended || line.acked < line.made) return;
    this.lines = this.lines.filter((each) => each !== line);
    this.store.dropStretch(line.stretch.name);
    line.release?.();
    this.tellUnsent();
    this.pump();
  }

  /** Seconds of sound that are on this device alone. */
  get unsent() {
    return this.lines.reduce((sum, line) => sum + Math.max(0, line.made - line.acked), 0) / 10;
  }

  tellUnsent() {
    this.on.unsent(this.unsent);
  }
}

/** stretch as it is kept; made, sent, acked: numbers of the next chunk to be made, sent, kept there. */
function newLine(stretch) {
  return { stretch, made: 0, sent: 0, acked: 0, ended: false, over: false, state: "new", near: null, release: null };
}
