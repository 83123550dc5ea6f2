// On the thread of the sound: samples as they come become chunks of a tenth of a second, as 16-bit
// numbers. Nothing else may happen here, so that no sample is missed.

const CHUNKS_A_SECOND = 10;

class Recorder extends AudioWorkletProcessor {
  constructor() {
    super();
    this.size = Math.round(sampleRate / CHUNKS_A_SECOND);
    this.ended = false;
    this.begin();
    this.port.onmessage = ({ data }) => {
      if (data.do === "flush") {
        this.send();
        this.port.postMessage({ do: "flushed" });
        this.ended = true;
      }
    };
  }

  begin() {
    this.samples = new Int16Array(this.size);
    this.count = 0;
    this.squares = 0;
    this.peak = 0;
  }

  send() {
    if (!this.count) return;
    const samples = this.count === this.size ? this.samples : this.samples.slice(0, this.count);
    const level = Math.sqrt(this.squares / this.count);
    this.port.postMessage({ do: "chunk", samples, level, peak: this.peak }, [samples.buffer]);
    this.begin();
  }

  process([input]) {
    const channel = input[0];
    if (channel && !this.ended) {
      for (let i = 0; i < channel.length; i++) {
        const value = channel[i];
        const whole = Math.round(value * 32768);
        this.samples[this.count++] = whole > 32767 ? 32767 : whole < -32768 ? -32768 : whole;
        this.squares += value * value;
        const size = Math.abs(value);
        if (size > this.peak) this.peak = size;
        if (this.count === this.size) this.send();
      }
    }
    return !this.ended;
  }
}

registerProcessor("seamnote-recorder", Recorder);
