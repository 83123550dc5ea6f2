// Keeps the screen from going dark while the recorder listens: a dark screen stops the microphone.

let wanted = false;
let lock = null;

async function hold() {
  if (!wanted || lock || document.hidden) return;
  try {
    lock = await navigator.wakeLock?.request("screen");
    lock?.addEventListener("release", () => {
      lock = null;
      hold();
    });
  } catch {
    lock = null; // low battery, or a browser that has none: the gap would be told
  }
}

document.addEventListener("visibilitychange", hold);

export function keepAwake(on) {
  wanted = on;
  if (on) hold();
  else lock?.release();
}
