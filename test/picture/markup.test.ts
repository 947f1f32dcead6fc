import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { coordinate, element, escaped } from '../../src/picture/markup.js';
import { wellFormed } from './markupTools.js';

describe('markup', () => {
  it('keeps any text a text, between tags and in attributes', () => {
    fc.assert(fc.property(fc.string({ unit: 'binary', maxLength: 60 }), (text) => {
      const document = wellFormed(element('g', { title: text, width: 3 }, escaped(text)));
      const readable = text.replace(/[^\t\n\r\P{Cc}]|[\p{Cs}\p{Cf}\p{Zl}\p{Zp}\u115F\u1160\u3164\uFFA0]|\p{Noncharacter_Code_Point}/gu, '\uFFFD');
      const root = document.documentElement!;
      expect(root.childNodes.length).toBeLessThanOrEqual(1);
      // XML itself turns line ends into \n, and blanks of attributes into spaces.
      expect(root.textContent).toBe(readable.replace(/\r\n?/g, '\n'));
      expect(root.getAttribute('title')!.replace(/\s/g, ' ')).toBe(readable.replace(/\r\n/g, '\n').replace(/\s/g, ' '));
      expect(root.attributes.length).toBe(2);
    }), { numRuns: 200 });
  });
  it('writes coordinates that read back within their rounding, never in exponents', () => {
    fc.assert(fc.property(fc.double({ min: -1e6, max: 1e6, noNaN: true }), (value) => {
      expect(coordinate(value)).toMatch(/^-?\d+(\.\d{1,2})?$/);
      expect(Math.abs(Number(coordinate(value)) - value)).toBeLessThanOrEqual(0.0050001);
    }));
    expect(coordinate(-0.001)).toBe('0');
    expect(() => coordinate(NaN)).toThrow(RangeError);
  });
});
