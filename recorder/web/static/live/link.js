// The link to the server: a WebSocket, or, where a browser or a network refuses it, one POST after the
// other with the same frames and the same answers. It comes back by itself.

import { body } from "./frames.js";

const OPENING_MS = 5000; // until a socket that does not open counts as refused
const SILENT_MS = 5000; // without any word of the server while it owes one
const ASK_MS = 4000; // how often a link with nothing to say is tried
const POST_MS = 300; // between two requests
const POST_LIMIT_MS = 8000;
const MOST_BODY_BYTES = 900000;
const RETRY_MS = [250, 500, 1000, 1500, 2000];
const SOCKET_AGAIN_MS = 10000; // after which a link by POST tries a socket; each time longer
const SOCKET_AGAIN_MOST_MS = 300000;

export class Link {
  /** address: of the session. key: of this page. seal: for POST. on: opened(), closed(), told(message) */
  constructor(address, key, seal, on) {
    Object.assign(this, { address, key, seal, on });
    this.open = false;
    this.owed = 0;
    this.Kind = Socket;
    this.again_ms = SOCKET_AGAIN_MS;
    this.tries = 0;
    this.transport = null;
    this.watch = setInterval(() => this.look(), 500);
    this.connect();
    addEventListener("online", () => this.hurry());
  }

  connect() {
    this.timer = 0;
    this.heard = performance.now();
    this.transport = new this.Kind(this);
    this.transport.begin();
  }

  /** frame: string or ArrayBuffer. False where it cannot be sent now. */
  send(frame) {
    if (!this.open) return false;
    this.transport.send(frame);
    return true;
  }

  say(message) {
    return this.send(JSON.stringify(message));
  }

  /** How many bytes wait in this browser to be sent. */
  get waiting() {
    return this.transport?.waiting ?? 0;
  }

  /** The server owes an answer; without one the link is lost. */
  owe() {
    if (!this.owed) this.owed = performance.now();
  }

  opened(transport) {
    if (transport !== this.transport) return;
    this.open = true;
    this.tries = 0;
    this.owed = 0;
    this.heard = performance.now();
    this.openedAt = performance.now();
    if (this.Kind === Socket) this.again_ms = SOCKET_AGAIN_MS;
    this.on.opened();
  }

  told(transport, message) {
    if (transport !== this.transport) return;
    this.heard = performance.now();
    this.owed = 0;
    this.on.told(message);
  }

  lost(transport) {
    if (transport !== this.transport) return;
    // What did not open lets the other kind try; what had opened tries again.
    if (!this.open) this.Kind = this.Kind === Socket ? Posts : Socket;
    this.transport = null;
    const was = this.open;
    this.open = false;
    if (was) this.on.closed();
    const wait = RETRY_MS[Math.min(this.tries, RETRY_MS.length - 1)];
    this.tries += 1;
    this.timer = setTimeout(() => this.connect(), wait * (0.75 + Math.random() / 2));
  }

  /** For good. */
  stop() {
    clearInterval(this.watch);
    const transport = this.transport;
    this.transport = null;
    this.open = false;
    clearTimeout(this.timer);
    this.timer = 0;
    transport?.end();
  }

  hurry() {
    if (this.timer) {
      clearTimeout(this.timer);
      this.connect();
    }
  }

  look() {
    const now = performance.now();
    if (!this.open) return;
    if (this.owed && now - this.owed > SILENT_MS && now - this.heard > SILENT_MS) this.transport.end();
    else if (now - this.heard > ASK_MS && !this.owed) this.ask();
    if (this.Kind === Posts && now - this.openedAt > this.again_ms) this.trySocket();
  }

  /** Nothing is lost by the change: what was under way is sent again. */
  trySocket() {
    this.again_ms = Math.min(3 * this.again_ms, SOCKET_AGAIN_MOST_MS);
    this.transport.end();
    this.Kind = Socket;
    this.hurry();
  }

  ask() {
    this.owe();
    this.say({ do: "here", ms: performance.now() });
  }
}

class Socket {
  constructor(link) {
    this.link = link;
  }

  begin() {
    const url = new URL(`${this.link.address}/socket`, location.href);
    url.protocol = url.protocol === "https:" ? "wss:" : "ws:";
    url.searchParams.set("page", this.link.key);
    try {
      this.socket = new WebSocket(url);
    } catch {
      setTimeout(() => this.link.lost(this));
      return;
    }
    this.socket.binaryType = "arraybuffer";
    this.limit = setTimeout(() => this.end(), OPENING_MS);
    this.socket.onopen = () => {
      clearTimeout(this.limit);
      this.link.opened(this);
    };
    this.socket.onmessage = ({ data }) => this.link.told(this, JSON.parse(data));
    this.socket.onclose = () => this.end();
  }

  send(frame) {
    this.socket.send(frame);
  }

  get waiting() {
    return this.socket.bufferedAmount;
  }

  end() {
    clearTimeout(this.limit);
    this.socket.onopen = this.socket.onmessage = this.socket.onclose = null;
    this.socket.close();
    this.link.lost(this);
  }
}

class Posts {
  constructor(link) {
    this.link = link;
    this.frames = [];
    this.ended = false;
    this.waiting = 0;
  }

  async begin() {
    let anew = true;
    while (!this.ended) {
      const some = [];
      let size = 0;
      while (this.frames.length && size < MOST_BODY_BYTES) {
        const frame = this.frames.shift();
        size += frame.byteLength ?? frame.length;
        some.push(frame);
      }
      this.waiting -= size;
      let told;
      try {
        told = await this.post(some, anew);
      } catch {
        break;
      }
      if (this.ended) return;
      if (anew) this.link.opened(this);
      anew = false;
      for (const message of told) this.link.told(this, message);
      this.link.heard = performance.now();
      this.link.owed = 0;
      await new Promise((resolve) => setTimeout(resolve, this.frames.length ? 0 : POST_MS));
    }
    this.end();
  }

  async post(frames, anew) {
    const url = new URL(`${this.link.address}/sound`, location.href);
    url.searchParams.set("page", this.link.key);
    if (anew) url.searchParams.set("anew", "");
    const answer = await fetch(url, {
      method: "POST",
      body: body(frames),
      headers: { "x-seamnote-seal": this.link.seal, "content-type": "application/octet-stream", accept: "application/json" },
      signal: AbortSignal.timeout(POST_LIMIT_MS),
      redirect: "error",
    });
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  }

  send(frame) {
    this.waiting += frame.byteLength ?? frame.length;
    this.frames.push(frame);
  }

  end() {
    this.ended = true;
    this.link.lost(this);
  }
}
