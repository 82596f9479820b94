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
