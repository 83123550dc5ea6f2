// What cannot be taken back is held for a second and more. A short press, a switch or a screen reader
// gets a question instead, so that nobody needs to hold.

const HOLD_MS = 1200;

/** held(): after the whole time. pressed(): after a press that was too short; default: nothing. */
export function holding(button, held, pressed = () => {}) {
  let timer = 0;
  let done = false;

  const begin = () => {
    if (timer) return;
    done = false;
    button.classList.add("held");
    timer = setTimeout(() => {
      done = true;
      timer = 0;
      button.classList.remove("held");
      held();
    }, HOLD_MS);
  };
  const end = () => {
    button.classList.remove("held");
    clearTimeout(timer);
    timer = 0;
  };

  button.style.setProperty("--hold", `${HOLD_MS}ms`);
  button.addEventListener("pointerdown", (event) => event.isPrimary && event.button === 0 && begin());
  for (const kind of ["pointerup", "pointerleave", "pointercancel", "blur"]) button.addEventListener(kind, end);
  button.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    if (!event.repeat) begin();
  });
  button.addEventListener("keyup", (event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    const short = timer !== 0;
    end();
    if (short && !done) pressed();
  });
  button.addEventListener("contextmenu", (event) => event.preventDefault());
  button.addEventListener("click", () => {
    if (!done) pressed();
    done = false;
  });
}
