{% load static %}// Opens a nameless page where the ward sheet is opened without a connection. It keeps that page, its look and its script.
const KEPT = "ward-2";
const PAGE = "{% url 'clinic:offline' %}";
const FILES = [
  PAGE,
  "{% static 'css/tokens.css' %}",
  "{% static 'css/base.css' %}",
  "{% static 'css/components.css' %}",
  "{% static 'mark.svg' %}",
  "{% static 'js/offline.js' %}",
  "{% static 'js/waiting.js' %}",
];

addEventListener("install", (event) => {
  const anew = FILES.map((file) => new Request(file, { cache: "reload" }));
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(anew)).then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  const old = async () => (await caches.keys()).filter((name) => name !== KEPT);
  event.waitUntil(old().then((names) => Promise.all(names.map((name) => caches.delete(name)))).then(() => clients.claim()));
});

addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.mode === "navigate") {
    event.respondWith(fetch(request).catch(() => caches.match(PAGE)));
  } else if (FILES.some((file) => new URL(request.url).pathname === file)) {
    event.respondWith(fetch(request).catch(() => caches.match(request)));
  }
});
