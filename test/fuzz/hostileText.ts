import type { Random } from '../../src/simulate/random.js';
import { below, chance, mutate, noise, oneOf } from './mutate.js';

const PIECES = [
  'null', 'true', '{}', '[]', '""', '-0', '1e999', '-1e999', 'NaN', '1e-999', '0x10', '"\\u0000"', '"\\ud800"', '"\u001b[2J"',
    '"__proto__"', '"constructor"',
  '{"__proto__":{"x":1}}', ',', ',,', '/*', '*/', '//', '\n', '\r', '\u2028', '\ufeff', '"', '\\', '}', ']', '0000',
    '"0000-00-00T00:00:00Z"', '"+275760-09-13T00:00:00.000Z"',
  '91', '-181', '1e308', '9007199254740993', '"M8x9"', '"M999"', '"+99:99"', '"east"', '"raise"', '"poleward/rig-1"',
    '"poleward/session-1"', '"\\x"', '"umläut 🔭"',
];

/** Text of JSON with values replaced, pieces put in or moved, deep nesting, bytes damaged. */
export function hostileText(random: Random, seeds: readonly string[]): Buffer {
  const seed = oneOf(random, seeds);
  const way = random.uniform();
  if (way < 0.25) return mutate(random, Buffer.from(seed), Buffer.from(oneOf(random, seeds)));
  if (way < 0.28) return noise(random, below(random, 2000));
  if (way < 0.31) return deep(random, seed);
  let text = seed;
  for (let n = 1 + below(random, 4); n > 0; n--) {
    // The places of values: numbers, texts, words, behind a colon or in a list.
    const values = [...text.matchAll(/(?<=[:[,]\s*)("(?:[^"\\\n]|\\.)*"|-?[\d.]+(?:e[+-]?\d+)?|true|false|null)/gi)];
    const value = values.length > 0 ? oneOf(random, values) : null;
    const what = below(random, 4);
    if (value && what < 2) text = text.slice(0, value.index) + oneOf(random, PIECES) + text.slice(value.index + value[0].length);
    else if (value && what === 2) text = text.slice(0, value.index) + oneOf(random, values)[0] + text.slice(value.index + value[0].length);
    else {
      const at = below(random, text.length + 1);
      text = text.slice(0, at) + oneOf(random, PIECES) + text.slice(at + (chance(random, 0.3) ? below(random, 30) : 0));
    }
  }
  return Buffer.from(text);
}

function deep(random: Random, seed: string): Buffer {
  const depth = oneOf(random, [100, 3000, 30_000]);
  const [open, close] = oneOf(random, [['[', ']'], ['{"a":', '}']] as const);
  const nest = open.repeat(depth) + '1' + (chance(random, 0.7) ? close.repeat(depth) : '');
  const colon = [...seed.matchAll(/:\s*(?=[\d"])/g)];
  const at = colon.length > 0 ? (oneOf(random, colon).index) + 1 : 0;
  if (chance(random, 0.3)) return Buffer.from(nest);
  if (chance(random, 0.5)) return Buffer.from(`${seed.slice(0, at)}${nest},"z":${seed.slice(at)}`);
  // A field more, at the end of the first object that ends a line.
  return Buffer.from(seed.replace(/\}(\s*)$/m, `,"more":${nest}}$1`));
}
