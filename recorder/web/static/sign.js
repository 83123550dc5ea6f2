// Signing on glass: strokes on a canvas, kept as points so that the last one can be taken back; sent
// as PNG, black on white. A picture that was chosen counts before what was drawn.

import { busy, free } from "/static/busy.js";

const form = document.querySelector("#sign");
const glass = form?.querySelector("[data-glass]");
const WIDTH = 4.5; // of a line, in pixels of the picture

function surface() {
  const canvas = glass.querySelector("canvas");
  const pen = canvas.getContext("2d");
  const state = glass.querySelector("#glass-state");
  const undo = glass.querySelector("[data-undo]");
  const clear = glass.querySelector("[data-clear]");
  let strokes = [];
  let current = null;

  function place(event) {
    const box = canvas.getBoundingClientRect();
    return [
      (event.clientX - box.left) * canvas.width / box.width,
      (event.clientY - box.top) * canvas.height / box.height,
    ];
  }

  function fit() { // as many pixels as the screen has, so that a line has the same width both ways
    const box = canvas.getBoundingClientRect();
    if (!box.width) return;
    const [width, height] = [1200, Math.round(1200 * box.height / box.width)];
    if (canvas.height === height) return;
    const scale = height / canvas.height;
    strokes = strokes.map((stroke) => stroke.map(([x, y]) => [x, y * scale]));
    canvas.width = width;
    canvas.height = height;
    draw();
  }

  function line(stroke) {
    pen.beginPath();
    pen.moveTo(...stroke[0]);
    if (stroke.length === 1) pen.lineTo(stroke[0][0] + .1, stroke[0][1]);
    for (let at = 1; at < stroke.length; at += 1) {
      const [x, y] = stroke[at - 1];
      const [toX, toY] = stroke[at];
      pen.quadraticCurveTo(x, y, (x + toX) / 2, (y + toY) / 2);
    }
    pen.lineTo(...stroke.at(-1));
    pen.stroke();
  }

  function draw() {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, canvas.width, canvas.height);
    Object.assign(pen, { strokeStyle: "#101418", lineWidth: WIDTH, lineCap: "round", lineJoin: "round" });
    strokes.forEach(line);
  }

  function tell() {
    undo.disabled = clear.disabled = strokes.length === 0;
    state.textContent = strokes.length === 0 ? "Nothing is drawn yet."
      : strokes.length === 1 ? "One stroke is drawn." : `${strokes.length} strokes are drawn.`;
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || current) return;
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    current = event.pointerId;
    strokes.push([place(event)]);
    draw();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (event.pointerId !== current) return;
    const points = event.getCoalescedEvents?.() ?? [];
    strokes.at(-1).push(...(points.length ? points : [event]).map(place));
    draw();
  });
  for (const end of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(end, (event) => {
      if (event.pointerId !== current) return;
      current = null;
      tell();
    });
  }
  undo.addEventListener("click", () => { strokes.pop(); draw(); tell(); });
  clear.addEventListener("click", () => { strokes = []; draw(); tell(); });
  addEventListener("resize", fit);
  glass.hidden = false;
  fit();
  draw();
  return {
    drawn: () => strokes.length > 0,
    picture: () => new Promise((done) => { canvas.toBlob(done, "image/png"); }),
  };
}

function complain(text) {
  const line = form.querySelector("[data-complaint]");
  line.textContent = text;
  line.hidden = !text;
}

async function send(made) {
  const body = new FormData(form); // the seal stands first in it
  body.delete("drawing");
  const chosen = form.querySelector("#drawing").files[0];
  body.append("drawing", chosen ?? await made.picture(), chosen?.name ?? "drawing.png");
  const seal = document.querySelector("meta[name=seal]").content;
  const answer = await fetch(form.action, {
    method: "POST", body, headers: { accept: "application/json", "x-seamnote-seal": seal },
  });
  const told = await answer.json();
  if (told.goto) location.assign(told.goto);
  else throw new Error(`${told.error}; ${told.remedy}.`);
}

if (form) {
  const made = surface();
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (form.querySelector("[type=submit][aria-disabled]")) return;
    if (!made.drawn() && !form.querySelector("#drawing").files.length) {
      complain("Draw the signature first, or choose a picture of one.");
      return;
    }
    complain("");
    busy(form);
    try {
      await send(made);
    } catch (failure) {
      free(form);
      complain(failure instanceof TypeError ? "The machine does not answer; try again." : failure.message);
    }
  });
}
