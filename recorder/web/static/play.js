// Plays the seconds of sound behind a value where they are asked for, one at a time. Without this
// the link opens the sound by itself.

const loudspeaker = new Audio();
let pressed = null;

function rest() {
  if (!pressed) return;
  pressed.setAttribute("aria-pressed", "false");
  pressed.querySelector(".sign").textContent = "▶";
  pressed = null;
}

function failed(link) {
  rest();
  if (link.nextElementSibling?.classList.contains("complaint")) return;
  const line = document.createElement("p");
  line.className = "complaint";
  line.setAttribute("role", "alert");
  line.textContent = "This sound cannot be played.";
  link.after(line);
}

function play(link) {
  const again = pressed === link;
  loudspeaker.pause();
  rest();
  if (again) return;
  pressed = link;
  link.setAttribute("aria-pressed", "true");
  link.querySelector(".sign").textContent = "■";
  loudspeaker.src = link.href;
  loudspeaker.play().catch(() => { if (pressed === link) failed(link); });
}

for (const link of document.querySelectorAll("[data-play]")) {
  link.setAttribute("role", "button");
  link.setAttribute("aria-pressed", "false");
  link.addEventListener("click", (event) => { event.preventDefault(); play(link); });
  link.addEventListener("keydown", (event) => {
    if (event.key === " ") { event.preventDefault(); play(link); }
  });
}
loudspeaker.addEventListener("ended", rest);
