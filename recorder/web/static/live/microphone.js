// The microphone as stretches of sound without a gap. When sound stops, whoever stopped it, the stretch
// ends, everyone is told, and a new one begins as soon as the device allows.

import { serverNow } from "./clock.js";
import { chunk, randomName } from "./frames.js";

const NOTHING_MS = 1000; // without a sample: the microphone stands still
const LOOK_MS = 250;
const AGAIN_MS = 1500;
const FLUSH_MS = 300;
const LATE_MS = 200; // what was heard may still wait behind other work of the page
const WAKE_MS = 1000; // in which a context begins to run, if it may
const JUST_MS = 3000; // after which a stop has nothing to do with having been hidden
// Each changed the waveform of speech; what is in a record is what the microphone heard.
const AS_IT_IS = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

export class Microphone {
  /** context: the page's AudioContext.
   *  on: stretch(stretch) -> line, chunk(line, bytes), ended(line), level(rms, peak, line),
   *      gap(reason), back(seconds), state(name, why), notice(text) */
  constructor(context, on) {
    Object.assign(this, { context, on });
    this.wanted = false;
    this.after = "first";
    this.line = null;
    this.opening = false;
    this.stoppedAt = 0;
    this.visibleAt = -Infinity;
    context.addEventListener("statechange", () => this.contextChanged());
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.visibleAt = performance.now();
      this.look();
    });
    addEventListener("pageshow", () => this.look());
    navigator.mediaDevices?.addEventListener?.("devicechange", () => this.look());
    setInterval(() => this.look(), LOOK_MS);
  }

  get on_air() {
    return this.line !== null;
  }

  /** reason: why there was no sound before, and since when, in ms; 0 where there was none yet.
   *  Raises what getUserMedia raises, and an error named Asleep where a touch is needed first. */
  async start(reason, stoppedAt) {
    this.wanted = true;
    if (!this.stoppedAt) [this.after, this.stoppedAt] = [reason, stoppedAt];
    await this.open();
  }

  /** A person, or the server for another device, switches it off. */
  async stop(reason) {
    this.wanted = false;
    await this.flush();
    this.end(reason);
    this.release();
  }

  async open() {
    if (this.opening || this.line || !this.wanted) return;
    this.opening = true;
    try {
      this.release();
      const stream = await navigator.mediaDevices.getUserMedia({ audio: { ...AS_IT_IS, channelCount: 1 } });
      if (!this.wanted) return stream.getTracks().forEach((track) => track.stop());
      this.stream = stream;
      await this.wake();
      if (!this.module) this.module = this.context.audioWorklet.addModule("/static/live/worklet.js");
      await this.module;
      this.listen(stream);
    } finally {
      this.opening = false;
    }
  }

  async wake() {
    if (this.context.state === "running") return;
    const late = new Promise((resolve) => setTimeout(resolve, WAKE_MS));
    await Promise.race([this.context.resume().catch(() => {}), late]);
    if (this.context.state !== "running") throw Object.assign(new Error("asleep"), { name: "Asleep" });
  }

  listen(stream) {
    const [track] = stream.getAudioTracks();
    const settings = track.getSettings?.() ?? {};
    const kept = Object.keys(AS_IT_IS).filter((name) => settings[name] === true);
    this.on.notice(kept.length ? "This browser changes the sound of the microphone, although it was asked not to." : "");
    track.onended = () => this.fell("stopped");
    track.onmute = () => this.fell(this.reason());
    track.onunmute = () => this.look();
    this.track = track;
    this.source = this.context.createMediaStreamSource(stream);
    this.node = new AudioWorkletNode(this.context, "seamnote-recorder", { numberOfOutputs: 1, channelCount: 1, channelCountMode: "explicit" });
    const node = this.node;
    node.port.onmessage = ({ data }) => this.came(node, data);
    this.source.connect(node).connect(this.context.destination); // its output is silence
    this.heardAt = performance.now();
  }

  came(node, data) {
    if (node !== this.node) return;
    if (data.do === "flushed") return this.flushed?.();
    if (!this.wanted && !this.flushed) return;
    this.heardAt = performance.now();
    if (!this.line) this.begin(data.samples.length);
    const bytes = chunk(this.line.stretch.name, this.number, this.samples, data.samples);
    this.number += 1;
    this.samples += data.samples.length;
    this.on.chunk(this.line, bytes, data.samples);
    this.on.level(data.level, data.peak);
  }

  begin(count) {
    const rate_hz = this.context.sampleRate;
    const began_ms = serverNow() - (1000 * count) / rate_hz;
    const stretch = { name: randomName(), rate_hz, began_ms, after: this.after };
    this.number = 0;
    this.samples = 0;
    this.line = this.on.stretch(stretch);
    if (this.stoppedAt) this.on.back((Date.now() - this.stoppedAt) / 1000, this.after);
    this.stoppedAt = 0;
    this.on.state("on", "");
  }

  /** Where in the running stretch the sound is now, at the earliest. */
  get place() {
    return { stretch: this.line?.stretch.name ?? null, sample: this.samples ?? 0 };
  }

  /** It stopped by itself. */
  fell(reason) {
    if (!this.wanted) return;
    this.end(reason);
    this.release();
    this.on.state("fell", reason);
    this.tryAgain();
  }

  end(reason) {
    const line = this.line;
    if (!line) return;
    this.line = null;
    this.after = reason;
    this.stoppedAt = Date.now();
    this.on.ended(line);
    this.on.gap(reason);
    this.on.state(this.wanted ? "fell" : "off", reason);
  }

  /** Some of the stretch is lost: a new one begins with the next sound. */
  broken(line) {
    if (line === this.line) this.end("stopped");
  }

  release() {
    const { track, node, source, stream } = this;
    if (track) track.onended = track.onmute = track.onunmute = null;
    source?.disconnect();
    node?.disconnect();
    stream?.getTracks().forEach((each) => each.stop());
    this.track = this.node = this.source = this.stream = null;
  }

  /** The last, shorter chunk. */
  async flush() {
    if (!this.node || !this.line) return;
    await new Promise((resolve) => {
      this.flushed = resolve;
      this.node.port.postMessage({ do: "flush" });
      setTimeout(resolve, FLUSH_MS);
    });
    this.flushed = null;
  }

  /** The page goes: what is here is kept, and the next page says why there was no sound. */
  leave() {
    this.wanted = false;
    if (this.line) this.on.ended(this.line);
    this.line = null;
  }

  contextChanged() {
    if (this.context.state !== "running" && this.line) this.fell(this.reason());
    this.look();
  }

  reason() {
    return document.hidden || performance.now() - this.visibleAt < JUST_MS ? "hidden" : "stopped";
  }

  look() {
    if (!this.wanted || this.suspected) return;
    const still = () => performance.now() - this.heardAt > NOTHING_MS;
    if (!still()) return;
    this.suspected = setTimeout(() => {
      this.suspected = 0;
      if (!this.wanted || !still()) return;
      if (this.line) this.fell(this.reason());
      else if (!this.again && !this.opening) this.tryAgain();
    }, LATE_MS);
  }

  tryAgain() {
    clearTimeout(this.again);
    this.again = setTimeout(async () => {
      this.again = 0;
      try {
        await this.open();
        if (!this.line) this.heardAt = performance.now();
      } catch (error) {
        if (error.name === "Asleep" || error.name === "NotAllowedError") this.on.state("asks", this.after);
        else if (this.wanted) this.tryAgain();
      }
    }, this.stoppedAt && Date.now() - this.stoppedAt < 500 ? 50 : AGAIN_MS);
  }
}
