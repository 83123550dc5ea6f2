// Says that a form is being worked on, and sends it once.

export function busy(form) {
  const button = form.querySelector("[type=submit]");
  button.setAttribute("aria-disabled", "true");
  button.dataset.words = button.textContent;
  button.textContent = form.dataset.busy;
}

export function free(form) {
  const button = form.querySelector("[type=submit]");
  button.removeAttribute("aria-disabled");
  button.textContent = button.dataset.words;
}

for (const form of document.querySelectorAll("form[data-busy]:not(#sign)")) {
  form.addEventListener("submit", (event) => {
    if (form.querySelector("[aria-disabled]")) event.preventDefault();
    else busy(form);
  });
}
// A page that the way back takes from memory is not busy any more.
addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
