import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { expect, test } from 'vitest';
import { remedyWords } from '../../src/cli/remedyWords.js';
import type { Remedy } from '../../src/remedy.js';
import { poleward } from './poleward.js';

const COMMANDS = ['measure', 'recheck', 'watch', 'verify', 'inspect', 'prepare', 'budget', 'simulate', 'log', 'rig'];

test('every option that a remedy names is one of a command', () => {
  const known = new Set(COMMANDS.flatMap((command) => poleward(command, '--help').out.match(/--[a-z][a-z-]+/g) ?? []));
  expect(known.size).toBeGreaterThan(50);
  // All keys of the union, from its source: the table itself can't miss one, the compiler sees to that.
  const source = readFileSync(fileURLToPath(new URL('../../src/remedy.ts', import.meta.url)), 'utf8');
  const union = /export type RemedyKey =([^;]+);/.exec(source)![1]!;
  const keys = [...union.matchAll(/'([a-z-]+)'/g)].map((m) => m[1]! as Remedy);
  expect(keys.length).toBeGreaterThan(25);
  for (const remedy of [...keys, { key: 'say-turned', knob: 'azimuth', turns: -0.5 } as const]) {
    const options = remedyWords(remedy).match(/--[a-z][a-z-]+/g) ?? [];
    expect(options.length, JSON.stringify(remedy)).toBeGreaterThan(0);
    for (const option of options) expect(known, JSON.stringify(remedy)).toContain(option);
  }
  expect(remedyWords({ key: 'say-turned', knob: 'azimuth', turns: -0.5 })).toBe('--turned azimuth=-0.50');
});
