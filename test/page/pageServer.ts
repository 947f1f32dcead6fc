import { existsSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { fileURLToPath } from 'node:url';

const TYPES: Readonly<Record<string, string>> = {
  html: 'text/html', js: 'text/javascript', bin: 'application/octet-stream', wasm: 'application/wasm', svg: 'image/svg+xml',
  txt: 'text/plain',
  webmanifest: 'application/manifest+json',
};

/** The two forms of the page as `npm run build` makes them. */
export const BUILT = fileURLToPath(new URL('../../dist/page/', import.meta.url));
export const SINGLE = new URL('../../dist/page/poleward.html', import.meta.url).href;

/** Serves the page's folder as any web server does; `changed` makes another version of it. */
export async function servePage(
  changed: (name: string, bytes: Buffer) => Buffer = (_, bytes) => bytes,
): Promise<{ readonly url: string; stop(): void }> {
  const server = createServer((request, response) => {
    const name = request.url === '/' ? 'index.html' : request.url!.slice(1).replace(/\?.*/, '');
    const path = `${BUILT}folder/${name}`;
    if (!/^[\w.]+$/.test(name) || !existsSync(path)) {
      response.writeHead(404).end();
      return;
    }
    response.writeHead(200, { 'Content-Type': TYPES[name.split('.').at(-1)!] ?? 'text/plain', 'Cache-Control': 'no-store' });
    response.end(changed(name, readFileSync(path)));
  });
  await new Promise<void>((resolve) => { server.listen(0, '127.0.0.1', resolve); });
  return {
    url: `http://localhost:${(server.address() as AddressInfo).port}/`,
    stop: () => {
      server.closeAllConnections();
      server.close();
    },
  };
}
