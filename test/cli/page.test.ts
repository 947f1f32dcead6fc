import { existsSync, readFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

describe('poleward page', () => {
  test('writes a folder for a web server, and replaces nothing unasked', () => {
    const out = join(scratchFolder(), 'new', 'site');
    const made = poleward('page', '--out', out, '--json');
    expect(made.status, made.err).toBe(0);
    const names = readdirSync(out).sort();
    expect((JSON.parse(made.out) as { files: string[] }).files).toEqual(names);
    expect(names).toEqual([
      'icon.svg', 'index.html', 'libraw.wasm', 'licences.txt', 'main.js', 'manifest.webmanifest', 'raw.js', 'service.js', 'sky.bin',
      'stars.bin', 'worker.js',
    ]);
    // No script stands in the page itself.
    expect(readFileSync(join(out, 'index.html'), 'utf8').match(/<script[^>]*>[^<]/)).toBe(null);
    const again = poleward('page', '--out', out);
    expect(again.status).toBe(1);
    expect(again.err).toMatch(/exists already\. Give another folder, or let it be replaced \(--overwrite\)\./);
    expect(poleward('page', '--out', out, '--overwrite').status).toBe(0);
  });

  test('writes one file of at most 8 megabytes that names no other', () => {
    const out = join(scratchFolder(), 'poleward.html');
    expect(poleward('page', '--out', out).status).toBe(0);
    expect(existsSync(out)).toBe(true);
    expect(statSync(out).size).toBeLessThan(8e6);
    expect(readFileSync(out, 'utf8').slice(0, 20_000).match(/(src|href)="(?!data:)[^"]+"/g)).toBe(null);
  });
});
