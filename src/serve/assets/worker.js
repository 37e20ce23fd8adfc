// Keeps the pages that were last seen, for when the laptop is out of reach. Nothing is answered from what is kept while
// the laptop answers. What is recorded never passes through here.
"use strict";
const KEPT = "cladlog";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", event => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", event => {
    const { request } = event;
    const url = new URL(request.url);
    if (request.method !== "GET" || url.origin !== location.origin || url.pathname.startsWith("/api/") || url.pathname.startsWith("/pair/")) return;
    event.respondWith(fetched(request));
});

async function fetched(request) {
    try {
        const answer = await fetch(request);
        const kept = await caches.open(KEPT);
        if (answer.ok && !answer.redirected) {
            await kept.put(request, answer.clone());
        } else if (answer.status === 401) {
            // This phone was forgotten: so are its pages.
            await caches.delete(KEPT);
        }
        return answer;
    } catch (error) {
        // A page's own script looks for what it kept itself, and says that it is old.
        if (request.mode !== "navigate" && request.destination === "") throw error;
        const kept = await caches.open(KEPT);
        const found = await kept.match(request) || await kept.match(request, { ignoreSearch: true });
        if (found) return found;
        throw error;
    }
}
