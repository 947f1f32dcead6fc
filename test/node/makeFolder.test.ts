import { existsSync, mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { makeFolder } from '../../src/node/makeFolder.js';

const scratch = (): string => mkdtempSync(join(tmpdir(), 'poleward folder '));

describe('a folder is made', () => {
  test('with those above it, and once more without complaint', () => {
    const folder = join(scratch(), 'Nächte', '2026', 'November');
    makeFolder(folder);
    makeFolder(folder);
    expect(existsSync(folder)).toBe(true);
  });

  test('or the system\'s reason is thrown where a file is in the way', () => {
    const file = join(scratch(), 'card');
    writeFileSync(file, '');
    expect(() => makeFolder(file)).toThrow(/EEXIST/);
    expect(() => makeFolder(join(file, 'below'))).toThrow(/ENOTDIR/);
  });

  test.skipIf(process.platform !== 'linux')('or where the kernel makes none, at once', () => {
    expect(() => makeFolder('/proc/poleward/state')).toThrow(/ENOENT|EACCES|EPERM/);
  });
});
