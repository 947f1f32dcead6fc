import { mkdtempSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import jsQR from 'jsqr';
import { describe, expect, test } from 'vitest';
import { reachableAddresses } from '../../src/panel/addresses.js';
import { allowedHost } from '../../src/panel/allowedHost.js';
import { keyOfNight, newKey, sameKey } from '../../src/panel/panelKey.js';
import { qrText } from '../../src/panel/qrText.js';

describe('the key', () => {
  const file = (): string => join(mkdtempSync(join(tmpdir(), 'poleward key ')), 'state', 'key.json');

  test('is 128 bits, another each time', () => {
    const keys = new Set(Array.from({ length: 1000 }, newKey));
    expect(keys.size).toBe(1000);
    for (const key of keys) expect(Buffer.from(key, 'base64url').length).toBe(16);
  });

  test('is the right one or not, whatever its length', () => {
    const key = newKey();
    expect(sameKey(key, key)).toBe(true);
    for (const wrong of ['', key.slice(1), `${key}a`, newKey()]) expect(sameKey(wrong, key)).toBe(false);
  });

  test('stays the same for a night of twelve hours, not longer', () => {
    const path = file();
    const dusk = Date.parse('2026-11-25T17:00:00Z');
    const key = keyOfNight(path, dusk);
    expect(keyOfNight(path, dusk + 11.9 * 3_600_000)).toBe(key);
    expect(keyOfNight(path, dusk + 12.1 * 3_600_000)).not.toBe(key);
    expect(keyOfNight(path, dusk)).not.toBe(key);
  });

  test('is kept where only its owner can read it', { skip: process.platform === 'win32' }, () => {
    const path = file();
    keyOfNight(path, 0);
    expect(statSync(path).mode & 0o077).toBe(0);
  });

  test('is new where what was kept is broken, short or not a key', () => {
    const path = file();
    keyOfNight(path, 0);
    for (const broken of [
      '', '{}', '{"key":"short","at":"1970-01-01T00:00:00.000Z"}', '{"key":"../../../../etc/passwdX","at":"1970-01-01T00:00:00.000Z"}',
    ]) {
      writeFileSync(path, broken);
      const key = keyOfNight(path, 0);
      expect(key).toMatch(/^[\w-]{22}$/);
      expect(readFileSync(path, 'utf8')).toContain(key);
    }
  });
});

describe('the Host header', () => {
  test('must be the address that the connection came in at', () => {
    expect(allowedHost('192.168.1.7:8470', '192.168.1.7', 8470)).toBe(true);
    expect(allowedHost('192.168.1.7:8470', '::ffff:192.168.1.7', 8470)).toBe(true);
    expect(allowedHost('localhost:8470', '127.0.0.1', 8470)).toBe(true);
    expect(allowedHost('LOCALHOST:8470', '127.0.0.1', 8470)).toBe(true);
    expect(allowedHost('192.168.1.7', '192.168.1.7', 80)).toBe(true);
  });

  test('of another name, address or port is refused, so that no name pointed here works', () => {
    for (const host of [
      'evil.example:8470', '127.0.0.1.evil.example:8470', '192.168.1.8:8470', '192.168.1.7:8471', '192.168.1.7', 'localhost:8470', '',
      '192.168.1.7:8470@evil.example',
    ]) {
      expect(allowedHost(host, '192.168.1.7', 8470), host).toBe(false);
    }
    expect(allowedHost(undefined, '192.168.1.7', 8470)).toBe(false);
  });
});

test('addresses of home networks come before public ones, those of no network last, this computer\'s own never', () => {
  const at = (address: string, internal = false, family: 'IPv4' | 'IPv6' = 'IPv4'): never => ({ address, internal, family }) as never;
  expect(reachableAddresses({
    lo: [at('127.0.0.1', true)], a: [at('169.254.3.4'), at('fe80::1', false, 'IPv6')], b: [at('8.8.4.4')], c: [at('172.20.10.2')],
    d: [at('172.32.0.1')],
  })).toEqual(['172.20.10.2', '8.8.4.4', '172.32.0.1', '169.254.3.4']);
});

test('the code in the terminal is read back by another library, and fits 60 columns', () => {
  const address = 'http://192.168.100.100:65535/X8jZUMumV1nqrmLehBK2Iw/';
  const lines = qrText(address).split('\n');
  const columns = lines[0]!.length;
  expect(columns).toBeLessThanOrEqual(60);
  const side = 4, width = columns * side, height = lines.length * 2 * side;
  const pixels = new Uint8ClampedArray(width * height * 4);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const letter = lines[Math.floor(y / side / 2)]![Math.floor(x / side)]!;
      const lit = letter === '█' || letter === (Math.floor(y / side) % 2 === 0 ? '▀' : '▄');
      // A drawn block is the light of a terminal.
      pixels.set(lit ? [255, 255, 255, 255] : [0, 0, 0, 255], (y * width + x) * 4);
    }
  }
  expect(jsQR.default(pixels, width, height, { inversionAttempts: 'dontInvert' })?.data).toBe(address);
});
