// Says how many entries wait in this browser, and opens the sheet when the connection is back.
import { inWords, waiting } from "./waiting.js";

const kept = document.getElementById("kept");
const count = waiting().length;
kept.textContent = count === 0 ? kept.dataset.none : inWords(count, kept.dataset);
addEventListener("online", () => location.reload());
