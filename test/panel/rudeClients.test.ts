/** The panel's server against clients that no browser is: raw sockets, slow, greedy, silent. Limits are shortened to keep it quick. */
import { once } from 'node:events';
import { type IncomingMessage, request } from 'node:http';
import { type Socket, connect, createServer } from 'node:net';
import { afterEach, describe, expect, test } from 'vitest';
import { emptyView } from '../../src/panel/panelView.js';
import { pageFiles } from '../../src/panel/pageFiles.js';
import { newKey } from '../../src/panel/panelKey.js';
import type { PanelLimits } from '../../src/panel/panelLimits.js';
import { type Panel, startPanel } from '../../src/panel/startPanel.js';

const page = pageFiles('<p>page</p>', 'p { color: #780000 }', new Map([['main.js', '// script']]));
const panels: Panel[] = [];

async function panelWith(limits: Partial<PanelLimits> = {}, key: string | null = null): Promise<Panel> {
  const panel = await startPanel({ page, port: 0, key, limits });
  panel.show(emptyView('Save a frame.'));
  panels.push(panel);
  return panel;
}

afterEach(async () => {
  for (const panel of panels.splice(0)) await panel.stop();
});

async function dial(port: number): Promise<Socket> {
  const socket = connect(port, '127.0.0.1');
  socket.on('error', () => {});
  await once(socket, 'connect');
  return socket;
}

/** All that a connection says until the other side ends it. */
async function saidBy(socket: Socket): Promise<string> {
  let said = '';
  socket.setEncoding('utf8').on('data', (text: string) => { said += text; });
  if (!socket.destroyed) await once(socket, 'close');
  return said;
}

const ask = (port: number, path: string, more = ''): string => `GET ${path} HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\n${more}\r\n`;

/** Answers are asked for as a browser would, but with any header. */
function get(
  port: number, path: string, headers: Record<string, string> = {}, method = 'GET',
): Promise<IncomingMessage & { text: string }> {
  return new Promise((resolve, reject) => {
    request({ host: '127.0.0.1', port, path, method, headers: { host: `127.0.0.1:${port}`, ...headers }, agent: false }, (response) => {
      let text = '';
      response.setEncoding('utf8').on('data', (part: string) => { text += part; }).on(
        'end', () => resolve(Object.assign(response, { text })),
      );
    }).on('error', reject).end();
  });
}

/** A stream that has begun. */
async function openStream(port: number, path = '/events'): Promise<Socket> {
  const socket = await dial(port);
  socket.write(ask(port, path));
  await once(socket, 'readable');
  return socket;
}

describe('who may see it', () => {
  test('the page comes with a policy that lets in nothing but its own', async () => {
    const { port } = await panelWith();
    const { statusCode, headers, text } = await get(port, '/');
    expect(statusCode).toBe(200);
    expect(text).toContain('<p>page</p>');
    const policy = headers['content-security-policy']!;
    expect(policy).toMatch(/default-src 'none'; script-src 'self'; style-src 'sha256-[\w+/=]{44}'; connect-src 'self'/);
    expect(policy).not.toMatch(/unsafe|\*|http/);
    expect(policy).toMatch(/frame-ancestors 'none'/);
    expect(headers).toMatchObject({
      'x-content-type-options': 'nosniff', 'referrer-policy': 'no-referrer', 'cache-control': 'no-store',
      'cross-origin-resource-policy': 'same-origin',
    });
  });

  test('with a key only its own address answers; everything else is refused without a word about what is there', async () => {
    const key = newKey();
    const { port } = await panelWith({}, key);
    expect((await get(port, `/${key}/`)).statusCode).toBe(200);
    expect((await get(port, `/${key}/main.js`)).statusCode).toBe(200);
    expect((await get(port, `/${key}`)).headers.location).toBe(`/${key}/`);
    for (const path of [
      '/', '/events', '/main.js', `/${newKey()}/`, `/${newKey()}/events`, `/${key.slice(0, -1)}/`, `/${key}a/events`, `//${key}/`,
    ]) {
      const { statusCode, text } = await get(port, path);
      expect([path, statusCode]).toEqual([path, 403]);
      expect(text).not.toContain(key);
    }
  });

  test('another name for this computer is refused, with and without the right key', async () => {
    const key = newKey();
    const { port } = await panelWith({}, key);
    for (const host of [`rebound.example:${port}`, '127.0.0.1', `10.0.0.1:${port}`]) {
      expect((await get(port, `/${key}/events`, { host })).statusCode, host).toBe(403);
    }
  });

  test('pages of other sites can\'t use it, links to it work', async () => {
    const { port } = await panelWith();
    expect((await get(port, '/main.js', { origin: 'http://evil.example' })).statusCode).toBe(403);
    expect((await get(port, '/main.js', { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'no-cors' })).statusCode).toBe(403);
    expect((await get(port, '/', { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'navigate' })).statusCode).toBe(200);
    expect((await get(port, '/main.js', { origin: `http://127.0.0.1:${port}` })).statusCode).toBe(200);
  });

  test('it can only be read: other methods and bodies are refused', async () => {
    const { port } = await panelWith();
    for (const method of ['POST', 'PUT', 'DELETE', 'PATCH', 'OPTIONS']) expect(
      (await get(port, '/', {}, method)).statusCode, method,
    ).toBe(405);
    const socket = await dial(port);
    socket.write(ask(port, '/', 'Content-Length: 1000000000\r\n'));
    expect(await saidBy(socket)).toMatch(/^HTTP\/1\.1 413 /);
  });

  test('no file is served but the page\'s own, no answer tells a path', async () => {
    const { port } = await panelWith();
    for (const path of [
      '/package.json', '/../package.json', '/%2e%2e/%2e%2e/etc/passwd', '/..%2f..%2fetc%2fpasswd', '/__proto__', '/constructor',
      '/main.js/../../x', '/%00', '/%ff',
    ]) {
      const socket = await dial(port);
      socket.write(ask(port, path, 'Connection: close\r\n'));
      const said = await saidBy(socket);
      expect(said, path).toMatch(/^HTTP\/1\.1 4\d\d /);
      expect(said, path).not.toMatch(/etc|passwd|src\/|dist\/|node_modules|work|Error/);
    }
  });

  test('refusals are pages as dark as the panel', async () => {
    const { port } = await panelWith();
    const { headers, text } = await get(port, '/nothing');
    expect(headers['content-type']).toMatch(/^text\/html/);
    expect(text).toContain('<style>p { color: #780000 }</style>');
    expect(headers['content-security-policy']).toMatch(/style-src 'sha256-/);
  });
});

describe('slow and rude clients', () => {
  test('headers that trickle in are cut off, silence too, while others are served', async () => {
    const { port } = await panelWith({ headersMs: 400 });
    const silent = await dial(port), trickling = await dial(port);
    trickling.write(`GET / HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nX-Slow: `);
    const trickle = setInterval(() => trickling.write('a'), 50);
    const both = Promise.all([saidBy(silent), saidBy(trickling)]);
    expect((await get(port, '/')).statusCode).toBe(200);
    const said = await both;
    clearInterval(trickle);
    expect(said[1]).toMatch(/^(HTTP\/1\.1 408|$)/);
    expect((await get(port, '/')).statusCode).toBe(200);
  });

  test('headers that are too large are refused', async () => {
    const { port } = await panelWith();
    const socket = await dial(port);
    socket.write(ask(port, '/', `X-Large: ${'a'.repeat(9000)}\r\n`));
    expect(await saidBy(socket)).toMatch(/^HTTP\/1\.1 431 /);
  });

  test('what is no HTTP is refused', async () => {
    const { port } = await panelWith();
    for (const noise of [
      '\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03', 'SSH-2.0-x\r\n\r\n', 'GET / HTTP/1.1\r\n\r\n',
      `GET / HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nHost: b\r\nContent-Length: -1\r\n\r\n`,
    ]) {
      const socket = await dial(port);
      socket.write(noise, 'latin1');
      expect(await saidBy(socket)).toMatch(/^HTTP\/1\.1 400 /);
    }
  });

  test('a connection that is done is closed before long', async () => {
    const { port } = await panelWith({ keepAliveMs: 200 });
    const socket = await dial(port);
    socket.write(ask(port, '/main.js'));
    expect(await saidBy(socket)).toMatch(/^HTTP\/1\.1 200 /);
  });

  test('streams beyond the limit are refused in words, and the others go on', async () => {
    const panel = await panelWith({ streams: 5 });
    const streams = await Promise.all(Array.from({ length: 5 }, () => openStream(panel.port)));
    expect(panel.watchers).toBe(5);
    const refused = await get(panel.port, '/events');
    expect([refused.statusCode, refused.headers['retry-after']]).toEqual([503, '10']);
    const heard = Promise.all(streams.map(async (socket) => {
      for (;;) {
        const text = String(socket.read() ?? '');
        if (text.includes('Turn azimuth.')) return true;
        await once(socket, 'readable');
      }
    }));
    panel.show(emptyView('Turn azimuth.'));
    expect(await heard).toEqual([true, true, true, true, true]);
    for (const socket of streams) socket.destroy();
  });

  test('connections from one address beyond the limit are dropped', async () => {
    const { port } = await panelWith({ connectionsAnAddress: 10 });
    const held = await Promise.all(Array.from({ length: 10 }, () => openStream(port)));
    const more = connect(port, '127.0.0.1').on('error', () => {});
    expect(await saidBy(more)).toBe('');
    held[0]!.destroy();
    await once(held[0]!, 'close');
    for (const socket of held) socket.destroy();
  });

  test('a client that goes away mid-stream is forgotten', async () => {
    const panel = await panelWith({ beatMs: 20 });
    const socket = await openStream(panel.port);
    expect(panel.watchers).toBe(1);
    socket.resetAndDestroy();
    // Each further stream that opens is a moment in which the server can notice.
    while (panel.watchers > 0) await get(panel.port, '/main.js');
    expect(panel.watchers).toBe(0);
  });

  test('clients that never read cost a buffer each and are dropped, however much is shown', async () => {
    const panel = await panelWith({ stalledMs: 1500, beatMs: 100 });
    const deaf = await Promise.all(Array.from({ length: 20 }, async () => {
      const socket = await dial(panel.port);
      socket.pause();
      socket.write(ask(panel.port, '/events'));
      return socket;
    }));
    while (panel.watchers < 20) await get(panel.port, '/main.js');
    const large = emptyView('x'.repeat(100_000));
    const before = process.memoryUsage();
    // 20 clients times 1,500 times 100 kB would be 3 GB.
    for (let n = 0; n < 1500; n++) {
      panel.show(large);
      if (n % 20 === 0) await get(panel.port, '/main.js');
    }
    const after = process.memoryUsage();
    expect(after.external + after.heapUsed - before.external - before.heapUsed).toBeLessThan(150e6);
    while (panel.watchers > 0) await get(panel.port, '/main.js');
    expect((await get(panel.port, '/')).statusCode).toBe(200);
    for (const socket of deaf) socket.destroy();
  });

  test('requests piled up by a client that reads no answers do not pile up answers', async () => {
    const panel = await panelWith({ keepAliveMs: 200 });
    const socket = await dial(panel.port);
    socket.pause();
    const many = ask(panel.port, '/main.js').repeat(200);
    for (let n = 0; n < 50; n++) socket.write(many);
    // A hundred requests are all that a connection gets.
    socket.resume();
    const said = await saidBy(socket);
    expect(said.match(/HTTP\/1\.1 200/g)!.length).toBeLessThanOrEqual(100);
    expect((await get(panel.port, '/')).statusCode).toBe(200);
  });
});

describe('the port', () => {
  test('that is taken gives way to the next free one', async () => {
    const taken = createServer().listen(0, '127.0.0.1');
    await once(taken, 'listening');
    const { port } = taken.address() as { port: number };
    const panel = await startPanel({ page, port, key: null });
    panels.push(panel);
    expect(panel.port).toBeGreaterThan(port);
    expect((await get(panel.port, '/')).statusCode).toBe(200);
    taken.close();
  });

  test('is free again once the panel has stopped, streams and all', async () => {
    const panel = await panelWith();
    const socket = await openStream(panel.port);
    await panel.stop();
    await saidBy(socket);
    const again = await startPanel({ page, port: panel.port, key: null });
    panels.push(again);
    expect(again.port).toBe(panel.port);
  });
});
