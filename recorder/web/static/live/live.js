// The page of a live session. Read here how sound, words and pictures come together:
//
//   microphone → chunks → this device's disk → link → the server's disk → acknowledged → gone from here
//   server → what to show, what to say, a photo to take

import { keepAwake } from "./awake.js";
import { Camera } from "./camera.js";
import { heardTime } from "./clock.js";
import { controls } from "./controls.js";
import { randomName } from "./frames.js";
import { holding } from "./hold.js";
import { sendLeftovers } from "./leftovers.js";
import { Link } from "./link.js";
import { Loudspeaker } from "./loudspeaker.js";
import { Microphone } from "./microphone.js";
import { Screen } from "./screen.js";
import { Sender } from "./sender.js";
import { address, began_ms, job, post, seal } from "./server.js";
import { Store } from "./store.js";

const CLAIM_MS = 4000;
const find = (id) => document.getElementById(id);

// What survives a reload of this page, and nothing else: who it is, and whether it was recording.
const memory = {
  get key() {
    const kept = sessionStorage.getItem("key");
    if (kept) return kept;
    const made = randomName();
    sessionStorage.setItem("key", made);
    return made;
  },
  leave: (recording) => sessionStorage.setItem(`left-${job}`, JSON.stringify({ recording, at: Date.now() })),
  left: () => {
    const kept = JSON.parse(sessionStorage.getItem(`left-${job}`) ?? "null");
    sessionStorage.removeItem(`left-${job}`);
    return kept;
  },
};

const WHY = {
  hidden: "the page was not in front, or the device was locked",
  stopped: "the microphone stopped",
  reloaded: "the page was loaded again",
  switched_off: "it was switched off",
  taken_over: "another device took over",
  away: "the page was closed",
};

heardTime(began_ms);

const screen = new Screen(() => loudspeaker.tone("timer"));
const store = new Store((text) => screen.tell(text ?? "", "store"));
const context = new AudioContext({ latencyHint: "interactive" });
let link;
let claimed = null;
let left = memory.left();

const sender = new Sender(job, store, {
  saved: (seconds) => screen.saved(seconds),
  unsent: (seconds) => screen.link(link?.open ?? false, seconds),
  trouble: (text) => screen.tell(text, "sound"),
  broken: (line) => microphone.broken(line),
});

const microphone = new Microphone(context, {
  stretch: (stretch) => sender.start(stretch),
  chunk: (line, bytes) => sender.add(line, bytes),
  ended: (line) => sender.finish(line),
  level: (rms) => {
    screen.meter(rms);
    loudspeaker.level(rms);
  },
  gap: (reason) => {
    link.say({ do: "gap", reason });
    loudspeaker.tone("gap");
    screen.meter(0);
    screen.gap(`No sound is recorded: ${WHY[reason] ?? reason}.`, true);
  },
  back: (seconds, reason) => {
    loudspeaker.tone("gap");
    screen.gap(`${Math.max(1, Math.round(seconds))} s were not recorded: ${WHY[reason] ?? reason}.`, false);
  },
  state: (name, reason) => {
    keepAwake(name === "on");
    if (name === "on") screen.microphone(true);
    if (name === "fell") screen.microphone(false, "The microphone comes back by itself as soon as the device lets it.", "Go on");
    if (name === "off") screen.microphone(false, reason === "taken_over" ? screen.why : "The microphone is off.", "Go on");
    if (name === "asks") screen.microphone(false, "The device wants a touch before it lets this page listen again.", "Go on");
  },
  notice: (text) => screen.tell(text, "browser"),
});

const loudspeaker = new Loudspeaker(context, microphone, {
  say: (message) => link.say(message),
  speaking: () => document.body.classList.add("speaks"),
  silent: () => {
    document.body.classList.remove("speaks");
    if (microphone.on_air) loudspeaker.tone("listening");
  },
});

const camera = new Camera(find("camera"), post, {
  taken: () => loudspeaker.tone("shutter"),
  trouble: (text) => screen.tell(text),
  closed: () => {},
});

// ---- what the server says ----

const told = {
  ready: ({ now_ms }) => heardTime(now_ms),
  here: ({ ms, now_ms }) => heardTime(now_ms, performance.now() - ms),
  ack: (message) => sender.told(message),
  again: (message) => sender.told(message),
  over: (message) => sender.told(message),
  trouble: ({ text }) => {
    loudspeaker.tone("trouble");
    screen.tell(text, "server");
    sender.refused();
  },
  show: ({ parts }) => {
    const before = { sign: screen.sign, question: screen.question };
    screen.show(parts);
    sound(before);
  },
  speak: (speech) => loudspeaker.say(speech),
  hush: () => loudspeaker.hush(),
  photo: () => camera.takeWhenReady(),
  goto: async ({ url }) => {
    memory.left();
    await microphone.stop("switched_off");
    location.assign(url);
  },
  microphone: ({ yours, why }) => {
    claimed?.(yours);
    if (yours) return;
    screen.why = why;
    if (microphone.wanted) microphone.stop("taken_over");
    screen.offerTake(why);
  },
};

/** The change of what is shown, for the ear. */
function sound(before) {
  if (!microphone.on_air) return;
  const { sign, question } = screen;
  if (question && question !== before.question && !loudspeaker.speaks) loudspeaker.tone("question");
  else if (sign === "thinking" && before.sign === "listening") loudspeaker.tone("understood");
  else if (sign === "listening" && before.sign === "paused") loudspeaker.tone("listening");
}

// ---- the microphone begins, by one touch, and again by itself after a reload ----

/** Whether the server lets this page be the microphone; without a link, yes. */
async function claim(take) {
  if (!link.open) return true;
  const answer = new Promise((resolve) => {
    claimed = resolve;
    setTimeout(() => resolve(true), CLAIM_MS);
  });
  link.say({ do: "microphone", take });
  const yours = await answer;
  claimed = null;
  return yours;
}

async function start(take = false) {
  if (microphone.on_air) return;
  try {
    context.resume(); // within the touch: some browsers allow it only there
    if (!(await claim(take))) return;
    screen.microphone(false, "The microphone opens …", "");
    const since = left?.at ?? 0;
    await microphone.start(left ? (left.recording ? "reloaded" : "away") : "first", since);
    left = null;
    loudspeaker.tone("listening");
  } catch (error) {
    const why = {
      NotAllowedError: "This page may not use the microphone. Allow it in the settings of the browser, then start again.",
      NotFoundError: "This device has no microphone.",
      Asleep: "The device wants a touch before it lets this page listen.",
    }[error.name] ?? "The microphone cannot be used now. Close other programs that use it, then start again.";
    screen.microphone(false, why, left ? "Go on" : "Start");
  }
}

find("start").addEventListener("click", () => start());
holding(find("take"), () => start(true));

controls({
  told: (text) => {
    loudspeaker.tone("trouble");
    screen.tell(text);
  },
  camera: () => camera.open(),
  off: async () => {
    await microphone.stop("switched_off");
    link.say({ do: "release" });
  },
  interrupt: () => loudspeaker.interrupt(),
});

addEventListener("pagehide", () => {
  const recording = microphone.on_air;
  if (recording) link.say({ do: "gap", reason: "reloaded" });
  if (recording || left) memory.leave(recording);
  microphone.leave();
});

navigator.serviceWorker?.register("/service-worker.js").catch(() => {});

await store.open().catch(() => screen.tell("This browser keeps nothing for pages. Sound that is not sent at once would be lost.", "store"));
link = new Link(address, memory.key, seal, {
  opened: () => {
    screen.tell("", "server");
    sender.opened();
    link.ask();
    if (microphone.wanted) link.say({ do: "microphone", take: false });
    screen.link(true, sender.unsent);
  },
  closed: () => {
    sender.closed();
    screen.link(false, sender.unsent);
  },
  told: (message) => told[message.do]?.(message),
});
setInterval(() => screen.link(link.open, sender.unsent), 1000);
sender.begin(link);
sendLeftovers(store, job, memory.key, seal);
if (left?.recording) {
  screen.microphone(false, "The page was loaded again. The microphone comes back …", "Go on");
  start();
}
