// What the page shows. Its regions are pieces of HTML that the server makes; here they are put in their
// places without taking the focus from where a person left it.

import { minutes, serverNow } from "./clock.js";

const find = (id) => document.getElementById(id);
const FADE_MS = 8000;
const HANDS_OFF_MS = 4000;
const JUST_S = 5;
const CUT_MS = 1500; // a link that comes back sooner was not lost

export class Screen {
  /** due(): a timer has just run out. */
  constructor(due) {
    this.due = due;
    this.dueTold = new Set();
    this.regions = new Map();
    for (const region of document.querySelectorAll("[data-region]")) this.regions.set(region.dataset.region, region);
    this.saved_s = 0;
    this.unsent_s = 0;
    this.level = { shown: 0, said: 0 };
    this.touched = -HANDS_OFF_MS;
    for (const kind of ["pointerdown", "keydown", "wheel", "touchmove"]) {
      addEventListener(kind, () => (this.touched = performance.now()), { passive: true });
    }
    setInterval(() => this.tick(), 250);
  }

  /** parts: region -> HTML. */
  show(parts) {
    const before = this.foremost;
    for (const [name, html] of Object.entries(parts)) {
      const region = this.regions.get(name);
      if (region) replace(region, html);
    }
    this.tick();
    if (this.foremost && this.foremost !== before) this.bringUp();
  }

  /** What a person must see without a touch: the question, or the photo that is spoken of. */
  get foremost() {
    return this.question || (document.querySelector("#answer img")?.getAttribute("src") ?? "");
  }

  /** Back to the upper end, unless a hand is on the page or it is in view. */
  bringUp() {
    const { top, bottom } = find(this.question ? "question" : "answer").getBoundingClientRect();
    const hand = performance.now() - this.touched < HANDS_OFF_MS || document.querySelector("dialog[open]");
    if (!hand && (top < 0 || bottom > innerHeight)) scrollTo({ top: 0 });
  }

  get sign() {
    return document.querySelector("#sign [data-sign]")?.dataset.sign ?? "off";
  }

  get question() {
    return document.querySelector("#question .ask")?.textContent ?? "";
  }

  /** Timers run here between two words of the server. */
  tick() {
    for (const timer of document.querySelectorAll(".timer")) {
      const { started, due } = timer.dataset;
      const left = due ? (Number(due) - serverNow()) / 1000 : null;
      const since = (serverNow() - Number(started)) / 1000;
      const text = left === null ? minutes(since) : left > 0 ? `${minutes(left + 0.99)} left` : `due, ${minutes(-left)} ago`;
      const place = timer.querySelector("[data-left]");
      if (place.textContent !== text) place.textContent = text;
      const over = left !== null && left <= 0;
      if (over && !this.dueTold.has(due)) {
        this.dueTold.add(due);
        if (left > -JUST_S) this.due();
      }
      timer.classList.toggle("due", over);
    }
  }

  /** on: whether the microphone is. why: if not, what a person can do. */
  microphone(on, why = "", button = "Start") {
    find("off").hidden = on;
    find("sign").hidden = !on;
    if (on) return;
    find("why").textContent = why;
    find("start").textContent = button;
    find("start").hidden = !button;
    find("take").hidden = true;
  }

  offerTake(why) {
    this.microphone(false, why, "");
    find("take").hidden = false;
  }

  saved(seconds) {
    this.saved_s = seconds;
    document.querySelector("[data-saved]").textContent = minutes(seconds);
  }

  link(open, unsent_s) {
    if (open) this.cutAt = 0;
    else this.cutAt ||= performance.now();
    open ||= performance.now() - this.cutAt < CUT_MS;
    const text = open && unsent_s < 3 ? "" : open ? `${Math.round(unsent_s)} s still to send` : `No link. ${Math.round(unsent_s)} s kept here`;
    const place = find("link");
    if (place.textContent !== text) place.textContent = text;
    document.body.classList.toggle("cut", !open);
  }

  /** rms: of full scale. Shown in decibels, from -60 to 0. */
  meter(rms) {
    const value = Math.round(Math.max(0, Math.min(100, 100 + (20 * Math.log10(rms + 1e-6) * 100) / 60)));
    const meter = find("level");
    meter.style.setProperty("--level", value / 100);
    const now = performance.now();
    if (now - this.level.said < 1000) return;
    this.level.said = now;
    meter.setAttribute("aria-valuenow", value);
    meter.setAttribute("aria-valuetext", value < 25 ? "quiet" : value < 85 ? "good" : "very loud");
  }

  /** A gap of the sound, in large letters. open: whether it lasts. */
  gap(text, open) {
    const mark = find("gapmark");
    mark.hidden = !text;
    mark.textContent = text;
    clearTimeout(this.gapTimer);
    if (text && !open) this.gapTimer = setTimeout(() => (mark.hidden = true), 4 * FADE_MS);
  }

  /** Something went wrong, in one line; a sender of lines takes back its own with ''. */
  tell(text, from = "page") {
    const line = find("told");
    if (!text && this.toldBy !== from) return;
    this.toldBy = from;
    line.textContent = text;
    line.hidden = !text;
    clearTimeout(this.toldTimer);
    if (text && from === "page") this.toldTimer = setTimeout(() => this.tell("", from), FADE_MS);
  }
}

function replace(region, html) {
  const focused = region.contains(document.activeElement) ? document.activeElement : null;
  const key = focused?.dataset.key;
  region.innerHTML = html;
  if (!focused) return;
  const again = key && region.querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (again) again.focus({ preventScroll: true });
  else {
    region.tabIndex = -1;
    region.focus({ preventScroll: true });
  }
}
