// A file that takes seconds to write: says so, keeps it when it is there, tells what went wrong.
// Without this the form leads to the file itself.

for (const form of document.querySelectorAll("form[data-file]")) {
  const told = form.querySelector("[data-told]");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const button = form.querySelector("[type=submit]");
    if (button.getAttribute("aria-disabled")) return;
    button.setAttribute("aria-disabled", "true");
    told.textContent = form.dataset.file;
    try {
      const query = new URLSearchParams(new FormData(form));
      const answer = await fetch(`${form.getAttribute("action")}?${query}`, { headers: { accept: "application/json" } });
      if (answer.ok) {
        keep(await answer.blob(), nameIn(answer));
        told.textContent = "The file is written.";
      } else {
        const { error, remedy } = await answer.json();
        told.textContent = `${error}; ${remedy}.`;
      }
    } catch {
      told.textContent = "The machine that runs Seamnote did not answer; try once more.";
    }
    button.removeAttribute("aria-disabled");
  });
}

function nameIn(answer) {
  return /filename="([^"]+)"/.exec(answer.headers.get("content-disposition"))?.[1] ?? "summary.pdf";
}

function keep(blob, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
