// Says in words when a tap did not arrive, and takes the words away once one has.
const notice = document.getElementById("unsent");

const say = (when) => {
  notice.hidden = false;
  notice.querySelectorAll("[data-when]").forEach((line) => (line.hidden = line.dataset.when !== when));
};

const reason = (status) => (status === 503 ? "busy" : status === 403 ? "stale" : "broken");

if (notice) {
  document.addEventListener("htmx:sendError", () => say("lost"));
  document.addEventListener("htmx:timeout", () => say("lost"));
  document.addEventListener("htmx:responseError", (event) => say(reason(event.detail.xhr.status)));
  document.addEventListener("htmx:afterSwap", () => (notice.hidden = true));
}
