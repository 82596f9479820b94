// Lets a person see the password as it is typed, so that nobody has to type it twice.
document.querySelectorAll("input[data-may-show]").forEach((input) => {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "btn still";
  const tell = () => {
    const hidden = input.type === "password";
    button.textContent = hidden ? "Show what I type" : "Hide what I type";
    button.setAttribute("aria-pressed", String(!hidden));
  };
  button.addEventListener("click", () => {
    input.type = input.type === "password" ? "text" : "password";
    tell();
  });
  tell();
  input.after(button);
});
