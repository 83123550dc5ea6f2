// Everything that a touch or a key can do: buttons of the regions, dialogs, and keys.

import { holding } from "./hold.js";
import { act } from "./server.js";

const find = (id) => document.getElementById(id);

/** on: told(text), camera(), off(), interrupt() -> whether the recorder was cut off */
export function controls(on) {
  const back = (dialog) => dialog?.open && dialog.close();

  async function does(what, complaint = null) {
    try {
      await act(what);
      return true;
    } catch (error) {
      if (complaint) {
        complaint.textContent = error.message;
        complaint.hidden = false;
      } else on.told(error.message);
      return false;
    }
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button || button.getAttribute("aria-disabled") === "true") return;
    const { open } = button.dataset;
    if ("close" in button.dataset) return back(button.closest("dialog"));
    if (open) {
      back(button.closest("dialog"));
      if (open === "camera") return on.camera();
      if (open === "write") prepare(button.dataset);
      find(open).showModal();
      if (open === "note") find("note-text").focus();
      return;
    }
    const what = actOf(button);
    if (!what) return;
    back(button.closest("dialog"));
    on.interrupt();
    does(what);
  });

  // ---- a value by keyboard ----

  let writing = {};

  function prepare({ place, field, label, value }) {
    writing = { place, field };
    find("write-title").textContent = label ? "Change this value" : "Type a value";
    find("write-label").textContent = label ?? "";
    find("write-now").textContent = value ?? "";
    find("write-now").hidden = !value;
    find("write-right").hidden = place === undefined || !value;
    find("write-which").hidden = Boolean(field);
    find("write-text").value = "";
    find("write").querySelector("[data-complaint]").hidden = true;
  }

  find("write").querySelector("[data-confirm]").addEventListener("click", async () => {
    if (await does({ do: "confirm", place: Number(writing.place) })) find("write").close();
  });

  find("write").querySelector("form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = find("write-text").value.trim();
    if (!text) return find("write-text").focus();
    const field = writing.field ?? find("write-field").value;
    const what = writing.place === undefined ? { do: "enter", field, text } : { do: "replace", place: Number(writing.place), text };
    if (await does(what, find("write").querySelector("[data-complaint]"))) find("write").close();
  });

  find("note").querySelector("form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = find("note-text").value.trim();
    if (!text) return find("note-text").focus();
    if (await does({ do: "ask", ask: "note", text }, find("note").querySelector("[data-complaint]"))) {
      find("note-text").value = "";
      find("note").close();
    }
  });

  // ---- the end of a job ----

  holding(
    find("finish"),
    () => {
      find("more").close();
      does({ do: "ask", ask: "finish" });
    },
    () => {
      find("more").close();
      find("finishing").showModal();
    },
  );
  find("off-switch").addEventListener("click", () => {
    find("more").close();
    on.off();
  });

  // ---- keys and touches that cut the recorder off ----

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && !document.querySelector("dialog[open]")) on.interrupt();
  });
  document.addEventListener("pointerdown", (event) => {
    if (event.target.closest(".near, .record, .beside") && !event.target.closest("button, a")) on.interrupt();
  });
}

/** What a button of a region means; null for one that means something to this page alone. */
function actOf({ dataset }) {
  const place = dataset.place === undefined ? {} : { place: Number(dataset.place) };
  switch (dataset.do) {
    case "confirm":
      return { do: "confirm", ...place };
    case "deny":
    case "later":
      return { do: dataset.do };
    case "replace":
      return { do: "replace", ...place, text: dataset.text };
    case "enter":
      return { do: "enter", field: dataset.field, text: dataset.text };
    case "ask":
      return { do: "ask", ask: dataset.ask, ...(dataset.timer ? { timer: dataset.timer } : {}) };
    default:
      return null;
  }
}
