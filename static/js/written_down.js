// Writes each tap of the ward down in this browser before it is sent, and takes it off only when the house has it.
// What waits is sent on load, on coming online, on becoming visible, after each tap and every quarter of a minute;
// each entry carries the key that its form was shown with, so that sent twice it counts once.
import { carryDetails } from "./details.js";
import { bring } from "./first_error.js";
import { giveFocusBack, keepFocus } from "./keep_focus.js";
import { countRound } from "./round_count.js";
import { inWords, newId, onPageAlone, takeOff, waiting, writeDown } from "./waiting.js";

const PATIENCE_MS = 20000;
const AGAIN_MS = 15000;
const panel = document.getElementById("written-down");
const me = panel?.dataset.user;
const refused = new Map(); // what the house refused while this page was open, by entry: the reason is not kept
let obstacle = "";

const mine = () => waiting().filter((entry) => entry.user === me);
const isSent = (entry) => !refused.has(entry.id);
const token = () => JSON.parse(document.body.getAttribute("hx-headers") ?? "{}")["X-CSRFToken"] ?? "";

// ---------------------------------------------------------------- writing down

const fieldsOf = (form, button) => {
  const fields = Object.fromEntries(new FormData(form, button));
  delete fields.csrfmiddlewaretoken;
  return fields;
};

// One more beyond an order is an entry of its own, with the key of its button; the tick's key stays unused.
const entryOf = (form, button) => {
  const { key, ...fields } = fieldsOf(form, button);
  const path = button?.hasAttribute("formaction") ? button.formAction : form.action;
  return {
    id: newId(),
    user: me,
    at: Date.now(),
    path: new URL(path).pathname,
    row: form.closest("article")?.id ?? "",
    fields: key && !fields.again ? { key, ...fields } : fields,
  };
};

const onSubmit = (event) => {
  const form = event.target;
  if (!me || !form.matches("form[data-write-down]")) return;
  const all = form.dataset.writeDown === "all";
  const entries = all ? ticksOf(form).map((one) => entryOf(one)) : [entryOf(form, event.submitter)];
  if (entries.some((entry) => !writeDown(entry))) return entries.forEach(takeOff);
  event.preventDefault();
  event.stopImmediatePropagation();
  if (entries[0]?.fields.again) event.submitter.value = newId();
  mark();
  const ways = { all: () => sendTogether(form, entries), write: () => sendTyped(form, entries[0]) };
  return (ways[form.dataset.writeDown] ?? flush)();
};

// Written down, a form's key is used up: what is written next is another entry.
const renew = (form) => {
  form.elements.key.value = newId();
  form.reset();
};

// What "as ordered" ticks: due in this round, never overdue, never medication.
const ticksOf = (form) => {
  const within = form.closest("article") ?? document;
  return [...within.querySelectorAll("form[data-as-ordered]")].filter((one) => !one.querySelector(".waits"));
};

// ---------------------------------------------------------------- sending

const ask = async (path, fields, user) => {
  try {
    return await fetch(path, {
      method: "POST",
      body: new URLSearchParams(fields),
      headers: { "HX-Request": "true", "X-CSRFToken": token(), "X-Written-By": user },
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
  } catch {
    return null;
  }
};

const REASONS = { 401: "signed-out", 403: "stale", 409: "another" };
const whyNot = (answer) => (answer === null ? "lost" : (REASONS[answer.status] ?? "busy"));

const send = async (entry) => {
  const answer = await ask(entry.path, entry.fields, entry.user);
  if (answer?.ok) {
    takeOff(entry);
    exchange(await answer.text());
    return true;
  }
  if (answer && [400, 404, 422].includes(answer.status)) {
    refused.set(entry.id, reasonIn(await answer.text()));
    return true;
  }
  obstacle = whyNot(answer);
  return false;
};

// One request for the round; what it does not reach is sent one by one, under the same keys.
const sendTogether = async (form, entries) => {
  const answer = await ask(new URL(form.action).pathname, fieldsOf(form), me);
  if (!answer?.ok) {
    obstacle = whyNot(answer);
    return flush();
  }
  entries.forEach(takeOff);
  obstacle = "";
  const onward = answer.headers.get("HX-Redirect");
  if (onward) return location.reload();
  exchange(await answer.text());
  return show();
};

// What was typed and is refused comes back in its fields, with the reason beside it; what does not arrive waits. The
// form is renewed before anything is awaited: what is written meanwhile is another entry, and stays as it is typed.
const sendTyped = async (form, entry) => {
  renew(form);
  const answer = await ask(entry.path, entry.fields, me);
  if (answer?.ok || answer?.status === 422) {
    takeOff(entry);
    exchange(await answer.text());
    bring(document.getElementById(entry.row) ?? document);
    return show();
  }
  return flush();
};

let running = null;
const flush = () => (running ??= sendAll().finally(() => (running = null)));

const sendAll = async () => {
  show();
  obstacle = "";
  for (let entry; (entry = mine().find(isSent)); ) {
    if (!(await send(entry))) break;
    mark();
  }
  show();
};

// ---------------------------------------------------------------- showing

const reasonIn = (html) => {
  const page = new DOMParser().parseFromString(html, "text/html");
  const said = page.querySelector("[data-first-error]") ?? page.querySelector(".error");
  return said?.textContent.trim().replace(/\s+/g, " ") || "It was not taken. Nothing of it was written.";
};

export const exchange = (html) => {
  for (const part of [...new DOMParser().parseFromString(html, "text/html").body.children]) {
    const old = part.id && document.getElementById(part.id);
    if (!old) continue;
    keepFocus(old);
    carryDetails(old, part);
    old.replaceWith(part);
    globalThis.htmx?.process(part);
    giveFocusBack();
  }
  countRound();
  mark();
};

const formOf = (entry) => {
  const name = ["key", "item", "order"].find((one) => entry.fields[one]);
  const field = document.querySelector(`form[data-write-down] input[name="${name}"][value="${entry.fields[name]}"]`);
  return field?.form;
};

// A tap that waits looks so, and a second tap on it does nothing.
const mark = () => {
  for (const entry of mine().filter((one) => !one.fields.again)) {
    const kit = formOf(entry)?.querySelector(".kit");
    if (!kit || kit.classList.contains("waits")) continue;
    kit.classList.add("waits");
    kit.setAttribute("aria-disabled", "true");
    kit.querySelector(".how").textContent = panel.dataset.waits;
    kit.closest("details")?.removeAttribute("open");
    kit.querySelector(".st")?.replaceWith(document.getElementById("waits-mark").content.cloneNode(true));
  }
};

const show = () => {
  if (!panel) return;
  const own = mine();
  const toSend = own.filter(isSent);
  const others = waiting().length - own.length;
  const state = toSend.length === 0 ? "" : obstacle || "sending";
  panel.querySelector("[data-count]").textContent = inWords(toSend.length, panel.dataset);
  panel.querySelectorAll("[data-when]").forEach((line) => (line.hidden = line.dataset.when !== state));
  panel.querySelector("[data-part='waiting']").hidden = state === "" || state === "sending";
  panel.querySelector("[data-part='plain']").hidden = isSecureContext;
  panel.querySelector("[data-part='words']").hidden = onPageAlone() === 0;
  panel.querySelector("[data-words]").textContent = inWords(onPageAlone(), {
    one: panel.dataset.wordsOne,
    many: panel.dataset.wordsMany,
  });
  panel.querySelector("[data-part='others']").hidden = others === 0;
  panel.querySelector("[data-others]").textContent = inWords(others, panel.dataset);
  showRefused(own.filter((entry) => refused.has(entry.id)));
  const beside = ["plain", "words"];
  panel.hidden = [...panel.querySelectorAll("[data-part]")].every((one) => beside.includes(one.dataset.part) || one.hidden);
};

const showRefused = (entries) => {
  const list = panel.querySelector("[data-part='refused']");
  list.hidden = entries.length === 0;
  list.querySelector("ul").replaceChildren(...entries.map(refusedLine));
};

const refusedLine = (entry) => {
  const line = document.getElementById("refused-line").content.cloneNode(true);
  const row = document.getElementById(entry.row);
  const what = formOf(entry)?.querySelector(".what")?.firstChild?.textContent.trim();
  line.querySelector("b").textContent = [row?.querySelector("h3")?.textContent.trim(), what].filter(Boolean).join(", ");
  line.querySelector("[data-reason]").textContent = refused.get(entry.id);
  const late = line.querySelector("[data-do='late']");
  late.hidden = entry.fields.late_source !== undefined && entry.fields.late_source !== "" || !(entry.fields.key || entry.fields.again);
  late.addEventListener("click", () => {
    writeDown({ ...entry, fields: { ...entry.fields, late_source: "memory", given_by: "not known" } });
    refused.delete(entry.id);
    flush();
  });
  line.querySelector("[data-do='drop']").addEventListener("click", () => {
    takeOff(entry);
    refused.delete(entry.id);
    location.reload();
  });
  return line;
};

// ---------------------------------------------------------------- when

const beforeSignOut = (event) => {
  if (!event.target.matches("form[data-sign-out]") || mine().length === 0 || panel.dataset.warned) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  panel.dataset.warned = "yes";
  obstacle = "leaving";
  show();
  panel.scrollIntoView({ block: "nearest" });
};

// What holds words is gone with the page: the browser asks before it leaves.
const beforeLeaving = (event) => onPageAlone() > 0 && event.preventDefault();

if (me) {
  document.addEventListener("submit", onSubmit, true);
  document.addEventListener("submit", beforeSignOut, true);
  document.addEventListener("click", (event) => event.target.closest(".kit.waits") && event.preventDefault(), true);
  addEventListener("online", flush);
  addEventListener("beforeunload", beforeLeaving);
  addEventListener("storage", show);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && flush());
  panel.querySelector("[data-do='send']").addEventListener("click", flush);
  setInterval(() => mine().some(isSent) && flush(), AGAIN_MS);
  mark();
  flush();
}
