// Opens a row's details on the page itself, from the blank form that stands in it (a group's in its row): so they open
// without a connection.
// What was written today is asked for beside it, and comes when it comes.
import { newId } from "./waiting.js";

const blank = document.getElementById("details");
const idOf = (row) => row.id.replace("animal-", "");
const nameOf = (row) => row.querySelector("h3").textContent.trim();

const fill = (more, row) => {
  const id = idOf(row);
  more.querySelectorAll("[id]").forEach((one) => (one.id = one.id.replace(/-0$/, `-${id}`)));
  more.querySelectorAll("[for]").forEach((one) => (one.htmlFor = one.htmlFor.replace(/-0$/, `-${id}`)));
  more.querySelectorAll("input[name='animal']").forEach((one) => (one.value = id));
  more.querySelectorAll("input[name='key']").forEach((one) => (one.value = newId()));
  if (!row.querySelector("template")) more.querySelectorAll(".vh").forEach((one) => one.append(nameOf(row)));
  more.querySelectorAll("a[href*='/0/']").forEach((one) => (one.href = one.getAttribute("href").replace("/0/", `/${id}/`)));
  more.querySelector(".eats").setAttribute("aria-label", `How ${nameOf(row)} eats`);
  if (!row.querySelector(".doing").hasAttribute("data-late")) more.querySelector(".late")?.remove();
};

const say = (row, word) => {
  const link = row.querySelector("a[data-details]");
  link.querySelector("[data-word]").textContent = word;
  link.setAttribute("aria-expanded", String(word === "Close"));
  row.classList.toggle("open", word === "Close");
};

const showLog = async (row) => {
  const answer = await fetch(`${location.pathname}row/${idOf(row)}/`, { headers: { "HX-Request": "true" } }).catch(() => null);
  const place = document.getElementById(row.id)?.querySelector(".more .away");
  if (!place) return;
  if (!answer?.ok) return void (place.hidden = false);
  const whole = new DOMParser().parseFromString(await answer.text(), "text/html");
  const log = whole.querySelector("ol.log");
  if (log) place.replaceWith(log);
  else place.remove();
};

const toggle = (event) => {
  const link = event.target.closest("a[data-details]");
  if (!link || !blank || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const row = link.closest("article");
  const open = row.querySelector(".more");
  if (open) {
    open.remove();
    return say(row, "More");
  }
  row.append((row.querySelector("template") ?? blank).content.cloneNode(true));
  fill(row.querySelector(".more"), row);
  say(row, "Close");
  return showLog(row);
};

/** A row that is exchanged keeps its open details, where its successor brings none. */
export const carryDetails = (old, part) => {
  const more = old.matches("article") && old.querySelector(".more");
  if (!more || part.querySelector(".more")) return;
  part.append(more);
  say(part, "Close");
};

document.addEventListener("click", toggle);
