// Counts the round anew from the rows on the page: what was made, ordered, is due and overdue, and the round's button.
import { inWords } from "./waiting.js";

const sum = (what) =>
  [...document.querySelectorAll(".doing")].reduce((all, kits) => all + Number(kits.dataset[what]), 0);

export const countRound = () => {
  const round = document.getElementById("round-summary");
  if (!round) return;
  round.querySelectorAll("[data-sum]").forEach((place) => (place.textContent = sum(place.dataset.sum)));
  round.querySelectorAll("[data-where]").forEach((place) => (place.hidden = sum(place.dataset.where) === 0));
  const button = round.querySelector("button[data-one]");
  if (!button) return;
  button.disabled = sum("due") === 0;
  button.textContent = inWords(sum("due"), button.dataset);
};

document.addEventListener("htmx:afterSwap", countRound);
