// Says how many entries wait in this browser, and opens the sheet when the house answers again. The browser's word that
// it is online is not enough: the first request after it may still fail, and where the house was silent it says nothing.
import { inWords, waiting } from "./waiting.js";

const EVERY_MS = 3000;

const kept = document.getElementById("kept");
const count = waiting().length;
kept.textContent = count === 0 ? kept.dataset.none : inWords(count, kept.dataset);

const look = async () => {
  const answer = await fetch(location.href, { method: "HEAD", cache: "no-store" }).catch(() => null);
  if (answer && answer.status < 500) location.reload();
};

// Opened at its own address it stands in the place of no sheet.
if (location.pathname !== kept.dataset.own) {
  addEventListener("online", look);
  setInterval(look, EVERY_MS);
}
