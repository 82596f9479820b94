// Sends a form once: a second tap while the first is under way does nothing. The server survives it too.
const sending = new WeakSet();

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (sending.has(form)) {
    event.preventDefault();
    return;
  }
  sending.add(form);
  setTimeout(() => sending.delete(form), 10000);
});
// Coming back with the browser's button shows the form as it was; it may be sent again.
addEventListener("pageshow", () => document.querySelectorAll("form").forEach((form) => sending.delete(form)));
document.addEventListener("htmx:afterRequest", (event) => sending.delete(event.target.closest("form")));

// Of a form that is nothing but a button, a second tap at the same place within half a second is a slip, also where
// the answer has put another button there.
const SLIP_MS = 500;
const SLIP_PX = 12;
let last = { at: -Infinity, x: 0, y: 0 };
const isButtonAlone = (form) => [...form.elements].every((one) => one.type === "hidden" || one.type === "submit");

document.addEventListener(
  "click",
  (event) => {
    const button = event.target.closest("button");
    if (button?.type !== "submit" || button.form?.method !== "post" || !isButtonAlone(button.form)) return;
    const box = button.getBoundingClientRect();
    const [x, y] = event.detail ? [event.clientX, event.clientY] : [box.left, box.top];
    if (event.timeStamp - last.at < SLIP_MS && Math.hypot(x - last.x, y - last.y) < SLIP_PX) {
      event.preventDefault();
      event.stopImmediatePropagation();
      return;
    }
    last = { at: event.timeStamp, x, y };
  },
  true,
);
