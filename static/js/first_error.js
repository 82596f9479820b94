// Brings a person to what must be mended: the summary after a refused form, else the first field marked wrong.
export const bring = (inside) => {
  const wrong = inside.querySelector("[data-first-error]") ?? inside.querySelector("[aria-invalid='true']");
  wrong?.focus();
};

bring(document);
document.addEventListener("htmx:afterSwap", (event) => bring(event.target));
