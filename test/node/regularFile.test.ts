import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { openRegular, readRegularFile } from '../../src/node/regularFile.js';

let folder = '';
let server: Server;
const at = (name: string): string => join(folder, name);
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'regular-'));
  writeFileSync(at('file'), 'a frame');
  symlinkSync(at('file'), at('link'));
  symlinkSync(at('round'), at('about'));
  symlinkSync(at('about'), at('round'));
  mkdirSync(at('folder'));
  execFileSync('mkfifo', [at('pipe')]);
  server = createServer();
  await new Promise<void>((resolve) => { server.listen(at('socket'), resolve); });
});
afterAll(async () => {
  await new Promise((resolve) => { server.close(resolve); });
  rmSync(folder, { recursive: true });
});

describe('a regular file', () => {
  it('is opened with its size, and read', async () => {
    const { handle, size } = await openRegular(at('file'));
    await handle.close();
    expect(size).toBe(7);
    expect(readRegularFile(at('file'), 7).toString()).toBe('a frame');
  });
  it('behind a link is read where links are followed, and only there', () => {
    expect(readRegularFile(at('link'), 100).toString()).toBe('a frame');
    expect(() => readRegularFile(at('link'), 100, { followLinks: false }))
      .toThrow(`${at('link')} is a link, and links are not followed here.`);
    expect(readRegularFile(at('file'), 100, { followLinks: false }).toString()).toBe('a frame');
  });
  it('larger than wanted is not read', () => {
    expect(() => readRegularFile(at('file'), 6)).toThrow(/has 7 bytes, more than the 6 that are read\.$/);
    writeFileSync(at('sparse'), '');
    // Takes no room on disk, and would take more memory than there is.
    truncateSync(at('sparse'), 2 ** 40);
    expect(() => readRegularFile(at('sparse'), 1e6)).toThrow(/more than the 1000000 that are read/);
  });
  it('is called what it is called', () => {
    expect(() => readRegularFile(at('none'), 1, { called: 'The rig file' })).toThrow('There is no file The rig file.');
  });
});

describe('what is not a regular file is refused without waiting for it', () => {
  it.each([
    ['pipe', 'not regular', 'is not a regular file but a named pipe.'],
    ['socket', 'not regular', 'is not a regular file but a socket.'],
    ['folder', 'folder', 'is a folder.'],
    ['about', 'endless link', 'is a link that leads in a circle.'],
    ['/dev/zero', 'not regular', 'is not a regular file but a device.'],
    ['none', 'missing', null],
  ])('%s', async (name, trouble, what) => {
    const path = name.startsWith('/') ? name : at(name);
    const expected = { name: 'FileError', trouble, message: what === null ? `There is no file ${path}.` : `${path} ${what}` };
    expect(caught(() => readRegularFile(path, 100))).toMatchObject(expected);
    await expect(openRegular(path)).rejects.toMatchObject(expected);
  });
});

function caught(work: () => unknown): unknown {
  try {
    return work();
  } catch (error) {
    return error;
  }
}
