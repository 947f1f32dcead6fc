import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { printable } from '../src/printable.js';

describe('words that come from a file, as they are shown', () => {
  it('are what they are, in any script', () => {
    for (const text of ['M 31 (Andromeda)', 'Ποίμην', '北極星', 'naïve – “quoted”', '⭐️ 😀']) expect(printable(text)).toBe(text);
  });
  it.each([
    ['a colour of the terminal', '\x1b[31mred', ' [31mred'],
    ['the clearing of the screen in one byte', 'a\x9b2Jb', 'a 2Jb'],
    ['an end of a line', 'a\nb\u2028c\u2029d', 'a b c d'],
    ['a name turned round', 'photo_\u202Egnp.exe', 'photo_\uFFFDgnp.exe'],
    ['isolated directions', '\u2066a\u2069', '\uFFFDa\uFFFD'],
    ['characters of no width', 'pass\u200Bword\u2060\uFEFF', 'pass\uFFFDword\uFFFD\uFFFD'],
    ['blank letters', 'a\u3164b\uFFA0', 'a\uFFFDb\uFFFD'],
    ['hidden tags', 'a\u{E0041}', 'a\uFFFD'],
    ['half a character', 'a\uD83D', 'a\uFFFD'],
  ])('hold no %s', (_, text, shown) => {
    expect(printable(text)).toBe(shown);
  });
  it('hold nothing that steers or hides, whatever the text', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary' }), (text) => {
      expect(printable(text)).not.toMatch(/[\p{Cc}\p{Cf}\p{Cs}\p{Zl}\p{Zp}]/u);
      // Shown again, they are the same.
      expect(printable(printable(text))).toBe(printable(text));
    }), { numRuns: 2000 });
  });
  it('are cut between characters', () => {
    expect(printable('ab😀cd', 3)).toBe('ab…');
    expect(printable('ab😀cd', 4)).toBe('ab😀…');
    expect(printable('abc', 3)).toBe('abc');
  });
});
