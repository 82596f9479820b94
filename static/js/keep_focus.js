// Keeps the keyboard where it was when a part of the page is exchanged: the same control of the same part.
const CONTROLS = "a[href], button:not([disabled]), input:not([type='hidden']), select, textarea";
let kept = null;

document.addEventListener("htmx:beforeSwap", (event) => {
  const part = event.detail.target;
  const place = [...part.querySelectorAll(CONTROLS)].indexOf(document.activeElement);
  kept = part.id && place >= 0 ? { id: part.id, place } : null;
});

document.addEventListener("htmx:afterSettle", () => {
  if (kept === null || document.activeElement !== document.body) return;
  const controls = [...(document.getElementById(kept.id)?.querySelectorAll(CONTROLS) ?? [])];
  controls[Math.min(kept.place, controls.length - 1)]?.focus({ preventScroll: true });
  kept = null;
});
