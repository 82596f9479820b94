// Says how many entries wait in this browser, and opens the sheet when the connection is back.
import { waiting } from "./waiting.js";

const kept = document.getElementById("kept");
const count = waiting().length;
kept.textContent = count === 0 ? kept.dataset.none : count === 1 ? kept.dataset.one : kept.dataset.many.replace("#", count);
addEventListener("online", () => location.reload());
