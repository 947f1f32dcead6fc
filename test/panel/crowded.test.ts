import { once } from 'node:events';
import { get } from 'node:http';
import { type Socket, connect } from 'node:net';
import { afterEach, expect, test } from 'vitest';
import { pageFiles } from '../../src/panel/pageFiles.js';
import { newKey } from '../../src/panel/panelKey.js';
import { emptyView } from '../../src/panel/panelView.js';
import { type Panel, startPanel } from '../../src/panel/startPanel.js';

let panel: Panel | null = null;
const held: Socket[] = [];

afterEach(async () => {
  for (const socket of held.splice(0)) socket.destroy();
  await panel?.stop();
});

/** The status that a client at an address of this computer gets. */
function statusFor(port: number, path: string, localAddress: string): Promise<number> {
  return new Promise((resolve, reject) => {
    get({ host: '127.0.0.1', port, path, localAddress, agent: false }, (response) => {
      response.resume();
      resolve(response.statusCode!);
    }).on('error', reject);
  });
}

// Other systems give this computer one address of the kind only.
test('two clients without a key that hold all connections shut no third out', { skip: process.platform !== 'linux' }, async () => {
  const key = newKey();
  panel = await startPanel({
    page: pageFiles('<p>page</p>', 'p {}', new Map()), port: 0, key,
    limits: { connections: 12, connectionsAnAddress: 8, headersMs: 600_000, stalledMs: 600_000 },
  });
  panel.show(emptyView('save a frame'));
  for (let i = 0; i < 12; i++) {
    const socket = connect({ port: panel.port, host: '127.0.0.1', localAddress: i < 6 ? '127.0.0.2' : '127.0.0.3' }).on('error', () => {});
    held.push(socket);
    await once(socket, 'connect');
  }
  expect(await statusFor(panel.port, `/${key}/`, '127.0.0.4')).toBe(200);
});
