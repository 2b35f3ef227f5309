// Keeps the page for when there is no network: all of it is one file.
const CACHE = 'proveout-%VERSION%';
const FILES = ['./', './index.html', './proveout.webmanifest', './icon.svg'];

self.addEventListener('install', (event) => {
    event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES)).then(() => self.skipWaiting()));
});

// An older page is kept no longer than its successor is here.
self.addEventListener('activate', (event) => {
    event.waitUntil(caches.keys().then((names) => Promise.all(names
        .filter((name) => name.startsWith('proveout-') && name !== CACHE)
        .map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

self.addEventListener('fetch', (event) => {
    if (event.request.method !== 'GET') return;
    event.respondWith(caches.open(CACHE).then((cache) =>
        cache.match(event.request, {ignoreSearch: true}).then((kept) => kept ?? fetch(event.request))));
});
