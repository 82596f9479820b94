// Keeps the sheet as others write on it, and lets it open without a connection where the browser allows that.
import { onPageAlone } from "./waiting.js";
import { exchange } from "./written_down.js";

const EVERY_MS = 20000;

const writes = () => document.activeElement?.matches("input, select, textarea");

// An animal that came meanwhile has no row here yet: the sheet is read anew, unless words wait on this page alone.
const bringsNewRow = (html) => {
  const rows = new DOMParser().parseFromString(html, "text/html").querySelectorAll("article.animal");
  return [...rows].some((row) => !document.getElementById(row.id));
};

const look = async () => {
  const since = document.getElementById("sheet-since")?.dataset.since;
  if (!since || document.visibilityState !== "visible" || writes()) return;
  const answer = await fetch(since, { headers: { "HX-Request": "true" } }).catch(() => null);
  if (answer?.status !== 200 || writes()) return;
  const html = await answer.text();
  if (bringsNewRow(html) && onPageAlone() === 0) location.reload();
  else exchange(html);
};

setInterval(look, EVERY_MS);
addEventListener("ward:look", look);
if (isSecureContext) navigator.serviceWorker?.register("/ward/worker.js", { scope: "/ward/" }).catch(() => {});
