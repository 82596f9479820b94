// Keeps the sheet as others write on it, and lets it open without a connection where the browser allows that.
import { exchange } from "./written_down.js";

const EVERY_MS = 20000;

const writes = () => document.activeElement?.matches("input, select, textarea");

const look = async () => {
  const since = document.getElementById("sheet-since")?.dataset.since;
  if (!since || document.visibilityState !== "visible" || writes()) return;
  const answer = await fetch(since, { headers: { "HX-Request": "true" } }).catch(() => null);
  if (answer?.status === 200 && !writes()) exchange(await answer.text());
};

setInterval(look, EVERY_MS);
addEventListener("ward:look", look);
if (isSecureContext) navigator.serviceWorker?.register("/ward/worker.js", { scope: "/ward/" }).catch(() => {});
