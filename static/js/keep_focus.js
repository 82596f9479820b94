// Keeps the keyboard where it was when a part of the page is exchanged: the same control of the same part.
const CONTROLS = "a[href], button:not([disabled]), input:not([type='hidden']), select, textarea, summary";
let kept = null;

export const keepFocus = (part) => {
  const place = [...part.querySelectorAll(CONTROLS)].indexOf(document.activeElement);
  kept = part.id && place >= 0 ? { id: part.id, place } : null;
};

export const giveFocusBack = () => {
  if (kept === null || document.activeElement !== document.body) return;
  const controls = [...(document.getElementById(kept.id)?.querySelectorAll(CONTROLS) ?? [])];
  controls[Math.min(kept.place, controls.length - 1)]?.focus({ preventScroll: true });
  kept = null;
};

document.addEventListener("htmx:beforeSwap", (event) => keepFocus(event.detail.target));
document.addEventListener("htmx:afterSettle", giveFocusBack);
