import { type HttpBindings } from '@hono/node-server';
import { RESPONSE_ALREADY_SENT } from '@hono/node-server/utils/response';
import { type Context, Hono } from 'hono';
import { allowedHost } from './allowedHost.js';
import type { EventStreams } from './eventStreams.js';
import type { PageFiles } from './pageFiles.js';
import { sameKey } from './panelKey.js';

type Call = Context<{ Bindings: HttpBindings }>;

/**
 * The panel's answers: its page, its scripts, its event stream, all read-only. Everything else is refused with a sentence on a dark page.
 *
 * @param key the first part of every address; null where only this computer can ask
 */
export function panelApp(page: PageFiles, streams: EventStreams, key: string | null): Hono<{ Bindings: HttpBindings }> {
  const headers = guardHeaders(page.styleHash);
  const root = key === null ? '' : '/:key';
  const app = new Hono<{ Bindings: HttpBindings }>();
  const refuse = (
    c: Call, status: 400 | 403 | 404 | 405 | 413 | 500 | 503, sentence: string, more: Record<string, string> = {},
  ): Response =>
    c.body(page.plain(sentence), status, { ...headers, 'Content-Type': 'text/html; charset=utf-8', ...more });

  app.use(async (c, next) => {
    const { incoming } = c.env;
    const {
      host, origin, 'content-length': length, 'transfer-encoding': coded, 'sec-fetch-site': from, 'sec-fetch-mode': mode,
    } = incoming.headers;
    const { localAddress, localPort } = incoming.socket;
    if (!allowedHost(host, localAddress, localPort ?? 0)) return refuse(
      c, 403, 'This is not the panel\'s address. Use the one that the watch shows.',
    );
    if (c.req.method !== 'GET' && c.req.method !== 'HEAD') {
      return refuse(c, 405, 'The panel is for reading only.', { Allow: 'GET, HEAD', Connection: 'close' });
    }
    if (coded !== undefined || (length !== undefined && length !== '0')) return refuse(
      c, 413, 'The panel takes no data.', { Connection: 'close' },
    );
    // Another site's page may link here, but not use it.
    if ((origin !== undefined && origin !== `http://${host}`) || (from === 'cross-site' && mode !== 'navigate')) {
      return refuse(c, 403, 'The panel serves its own page only.');
    }
    if (key !== null && !sameKey(c.req.path.split('/')[1] ?? '', key)) {
      return refuse(c, 403, 'The key in this address is not tonight\'s. Use the address or the code that the watch shows.');
    }
    await next();
  });

  app.get(`${root}/`, (c) => c.body(page.html, 200, { ...headers, 'Content-Type': 'text/html; charset=utf-8' }));
  if (key !== null) app.get('/:key', (c) => c.body(null, 307, { ...headers, Location: `/${key}/` }));
  app.get(`${root}/events`, (c) => {
    if (c.req.method === 'HEAD') return c.body(null, 200, headers);
    const { incoming, outgoing } = c.env;
    for (const [name, value] of Object.entries({
      ...headers, 'Content-Type': 'text/event-stream; charset=utf-8',
    })) outgoing.setHeader(name, value);
    const opened = streams.open(outgoing, incoming.socket.remoteAddress ?? '', c.req.header('Last-Event-ID') ?? null);
    return opened ? RESPONSE_ALREADY_SENT : refuse(c, 503, 'Too many panels are open.', { 'Retry-After': '10', Connection: 'close' });
  });
  app.get(`${root}/:script`, (c) => {
    const script = page.scripts.get(c.req.param('script') ?? '');
    return script === undefined
      ? refuse(c, 404, 'There is no such page.')
      : c.body(script, 200, { ...headers, 'Content-Type': 'text/javascript; charset=utf-8' });
  });
  app.notFound((c) => refuse(c, 404, 'There is no such page.'));
  app.onError((_, c) => refuse(c as Call, 500, 'The panel could not answer. Load it again.'));
  return app;
}

/**
 * Headers of every answer. Nothing from elsewhere, nothing inline except the one style; the address, which contains the key, is sent
 * nowhere.
 */
function guardHeaders(styleHash: string): Record<string, string> {
  return {
    'Content-Security-Policy': `default-src 'none'; script-src 'self'; style-src ${styleHash}; connect-src 'self'; img-src data:; `
      + 'base-uri \'none\'; form-action \'none\'; frame-ancestors \'none\'',
    'X-Content-Type-Options': 'nosniff',
    'Referrer-Policy': 'no-referrer',
    'Cross-Origin-Resource-Policy': 'same-origin',
    'X-Frame-Options': 'DENY',
    'Permissions-Policy': 'camera=(), microphone=(), geolocation=()',
    'Cache-Control': 'no-store',
  };
}
