// What the recorder says, and its short tones. While it speaks the server does not listen; a person
// cuts it off by a touch, by a key, or by speaking louder than its own voice comes back.

// Hz and seconds of each step of a tone, and how loud. Rising asks or begins, falling ends or warns.
const TONES = {
  listening: { steps: [[660, 0.07], [880, 0.09]], loud: 0.12 },
  understood: { steps: [[880, 0.05]], loud: 0.08 },
  question: { steps: [[587, 0.1], [587, 0.06], [784, 0.14]], loud: 0.16 },
  trouble: { steps: [[330, 0.18], [262, 0.26]], loud: 0.25 },
  gap: { steps: [[440, 0.12], [330, 0.12], [440, 0.12], [330, 0.2]], loud: 0.3 },
  timer: { steps: [[988, 0.12], [0, 0.06], [988, 0.12], [0, 0.06], [988, 0.24]], loud: 0.3 },
  shutter: { steps: [[1175, 0.04], [784, 0.06]], loud: 0.16 },
};
const EDGE_S = 0.012;

const LEARN_CHUNKS = 4; // of the first speech, from which the own echo is learned
const LOUDER = 3; // times the own echo: somebody speaks
const FLOOR = 0.03; // of full scale: below it nobody interrupts
const LOUD_CHUNKS = 2; // 0.2 s
const BEFORE_S = 0.5; // the voice that interrupts began before it was noticed

// Nobody is talked over: a speech waits for a lull. Chunks last a tenth of a second.
const HEARD_CHUNKS = 100; // from the quiet ones of these comes the noise of the place
const ABOVE_NOISE = 2.5; // times that noise: a voice
const FAINT = 0.01; // of full scale: below it nobody talks
const LULL_CHUNKS = 4;
const PATIENCE_S = 5; // then it speaks all the same: noise is not always steady

export class Loudspeaker {
  /** microphone: tells where the sound is. seal: for the server. on: say(message), speaking(text), silent() */
  constructor(context, microphone, on) {
    Object.assign(this, { context, microphone, on });
    this.queue = [];
    this.now = null;
    this.echo = 0;
    this.heard = []; // levels while nothing is spoken here, the newest last
    this.out = context.createGain();
    this.out.connect(context.destination);
  }

  tone(name) {
    if (this.context.state !== "running") return;
    const { steps, loud } = TONES[name];
    let at = this.context.currentTime + 0.01;
    for (const [hertz, seconds] of steps) {
      if (hertz) this.beep(hertz, at, seconds, loud);
      at += seconds;
    }
  }

  beep(hertz, at, seconds, loud) {
    const voice = this.context.createOscillator();
    const gain = this.context.createGain();
    voice.type = "triangle";
    voice.frequency.value = hertz;
    gain.gain.setValueAtTime(0, at);
    gain.gain.linearRampToValueAtTime(loud, at + EDGE_S);
    gain.gain.setValueAtTime(loud, at + seconds - EDGE_S);
    gain.gain.linearRampToValueAtTime(0, at + seconds);
    voice.connect(gain).connect(this.out);
    voice.start(at);
    voice.stop(at + seconds);
    voice.onended = () => gain.disconnect();
  }

  /** speech: { name, url, text } */
  say(speech) {
    this.queue.push(speech);
    this.next();
  }

  async next() {
    if (this.now || !this.queue.length) return;
    const speech = this.queue.shift();
    const turn = { speech, source: null, chunks: 0, loud: 0, learned: [], stopped: false };
    this.now = turn;
    try {
      const answer = await fetch(speech.url);
      if (!answer.ok) throw new Error(String(answer.status));
      const sound = await this.context.decodeAudioData(await answer.arrayBuffer());
      await this.lull(turn);
      if (!turn.stopped) await this.play(turn, sound);
    } catch {
      // No voice: the words stand on the page.
    }
    this.now = null;
    if (!this.queue.length) this.on.silent();
    this.next();
  }

  /** Until the person has ended to speak. */
  async lull(turn) {
    const ends = performance.now() + 1000 * PATIENCE_S;
    while (this.talked() && !turn.stopped && performance.now() < ends) {
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
  }

  talked() {
    const noise = [...this.heard].sort((a, b) => a - b)[Math.floor(this.heard.length / 10)] ?? 0;
    return this.heard.slice(-LULL_CHUNKS).some((level) => level > Math.max(FAINT, ABOVE_NOISE * noise));
  }

  async play(turn, sound) {
    const { name, text } = turn.speech;
    turn.place = this.microphone.place;
    if (turn.place.stretch) this.on.say({ do: "speaking", name, ...turn.place });
    this.on.speaking(text);
    await new Promise((resolve) => {
      if (turn.stopped) return resolve();
      turn.source = this.context.createBufferSource();
      turn.source.buffer = sound;
      turn.source.connect(this.out);
      turn.source.onended = resolve;
      turn.source.start();
    });
    if (!turn.stopped) await this.quiet();
    if (turn.learned.length >= LEARN_CHUNKS) this.echo = Math.max(0.7 * this.echo, ...turn.learned);
    this.ended(turn, name);
  }

  ended(turn, name) {
    const { stretch } = turn.place;
    if (!stretch) return;
    let { sample } = this.microphone.place;
    if (this.microphone.place.stretch !== stretch) return;
    if (turn.byVoice) sample = Math.max(turn.place.sample, sample - Math.round(BEFORE_S * this.context.sampleRate));
    this.on.say({ do: "spoken", name, stretch, sample });
  }

  /** Until what is still on its way to the ear has been heard by the microphone, too. */
  async quiet() {
    const latency = this.context.outputLatency || this.context.baseLatency || 0;
    await new Promise((resolve) => setTimeout(resolve, 1000 * latency));
    await new Promise((resolve) => {
      this.chunkCame = resolve;
      setTimeout(resolve, 400);
    });
    this.chunkCame = null;
  }

  /** Of each chunk of the microphone. */
  level(level) {
    this.chunkCame?.();
    const turn = this.now;
    if (!turn?.source) {
      this.heard.push(level);
      if (this.heard.length > HEARD_CHUNKS) this.heard.shift();
    }
    if (!turn?.source || turn.stopped) return;
    turn.chunks += 1;
    if (!this.echo && turn.chunks <= LEARN_CHUNKS) {
      turn.learned.push(level);
      return;
    }
    const own = this.echo || Math.max(...turn.learned);
    if (level > Math.max(FLOOR, LOUDER * own)) turn.loud += 1;
    else {
      turn.loud = 0;
      turn.learned.push(level);
      if (turn.learned.length > 50) turn.learned.shift();
    }
    if (turn.loud >= LOUD_CHUNKS) this.interrupt(true);
  }

  get speaks() {
    return this.now !== null;
  }

  /** A person cuts it off. True where there was something to cut. */
  interrupt(byVoice = false) {
    if (!this.now && !this.queue.length) return false;
    if (this.now) this.now.byVoice = byVoice;
    this.on.say({ do: "interrupt" });
    this.hush();
    return true;
  }

  hush() {
    this.queue = [];
    const turn = this.now;
    if (!turn) return;
    turn.stopped = true;
    turn.source?.stop();
  }
}
