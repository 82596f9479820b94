// A scanner ends a number with Enter: go on to the next field instead of sending a half-filled form.
document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !event.target.matches("[data-scanned]")) return;
  event.preventDefault();
  const fields = [...event.target.form.elements].filter((one) => one.type !== "hidden" && !one.disabled);
  fields[fields.indexOf(event.target) + 1]?.focus();
});
