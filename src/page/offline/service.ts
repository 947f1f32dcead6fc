/** The service worker: after the first visit the page comes from this device, with or without a network. */

/** The files of the page, and a stamp of all they hold; put in when the page is built. */
declare const FILES: readonly string[];
declare const STAMP: string;

interface ExtendableEvent extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface FetchEvent extends ExtendableEvent {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface ServiceWorld {
  readonly clients: { claim(): Promise<void> };
  addEventListener(kind: 'install' | 'activate', heard: (event: ExtendableEvent) => void): void;
  addEventListener(kind: 'fetch', heard: (event: FetchEvent) => void): void;
}
const world = self as unknown as ServiceWorld;
const OURS = 'poleward-';
const CACHE = `${OURS}${STAMP}`;

world.addEventListener('install', (event) => {
  // Whole or not at all; past the browser's own cache, which may hold a mixture.
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' })))));
});

world.addEventListener('activate', (event) => {
  const old = async (): Promise<void> => {
    for (const name of await caches.keys()) if (name.startsWith(OURS) && name !== CACHE) await caches.delete(name);
    await world.clients.claim();
  };
  event.waitUntil(old());
});

world.addEventListener('fetch', (event) => {
  const { request } = event;
  if (request.method !== 'GET' || new URL(request.url).origin !== location.origin) return;
  event.respondWith(kept(request));
});

async function kept(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  const asked = request.mode === 'navigate' ? './' : request;
  return await cache.match(asked, { ignoreSearch: true }) ?? fetch(request);
}
