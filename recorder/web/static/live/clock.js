// The clock of the machine that keeps the record, as this page knows it.

let offset_ms = 0;
let best_ms = Infinity;

/** A word of the server of its time; round_ms: how long the question and its answer took. */
export function heardTime(now_ms, round_ms = 1000) {
  if (round_ms > best_ms) return;
  best_ms = round_ms;
  offset_ms = now_ms + round_ms / 2 - Date.now();
}

export function serverNow() {
  return Date.now() + offset_ms;
}

export function minutes(seconds) {
  const whole = Math.max(0, Math.floor(seconds));
  const [hours, rest] = [Math.floor(whole / 3600), whole % 3600];
  const two = (number) => String(number).padStart(2, "0");
  const short = `${Math.floor(rest / 60)}:${two(rest % 60)}`;
  return hours ? `${hours}:${two(Math.floor(rest / 60))}:${two(rest % 60)}` : short;
}
