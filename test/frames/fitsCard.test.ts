import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseCards } from '../../src/frames/fitsCard.js';
import { card } from './fitsBytes.js';

const value = (field: string) => parseCards([`KEY     = ${field}`.padEnd(80)]).get('KEY');

describe('values of header cards (FITS 4.0, section 4.2)', () => {
  it('hold no characters that a terminal would obey (section 4.1.2.1 forbids them)', () => {
    expect(value("'\x1b[2Jred\x9b\x07'")).toBe(' [2Jred');
    expect(value('\x1b[2J')).toBe('[2J');
  });
  it.each([
    ["'a/b//c  '           / comment", 'a/b//c'],
    ["'O''Neil / ''the'' roof' / it's", "O'Neil / 'the' roof"],
    ["''", ''],
    ["''''", "'"],
    ["'   leading'", '   leading'],
    ['                   T / yes', true],
    ['                   F', false],
    ['                  16 / bits', 16],
    ['                 +16', 16],
    ['               -0042', -42],
    ['              1.5E-7', 1.5e-7],
    ['              1.5D+3', 1500],
    ['                 .5d0', 0.5],
    ['                  5.', 5],
    ['        (1.0, -2.5D1)', [1, -25]],
    ['                     / undefined', null],
    ['', null],
    ['2026-11-25T19:30:00 / no quotes', '2026-11-25T19:30:00'],
    ["'no end", "'no end"],
  ])('reads %s', (field, expected) => {
    expect(value(field)).toEqual(expected);
  });

  it('joins a long string over CONTINUE cards and drops each ampersand', () => {
    const cards = ["LONG    = 'one &'", "CONTINUE  'two/''&' / comment", "CONTINUE  'three'", card('NEXT', 1)];
    expect([...parseCards(cards)]).toEqual([['LONG', "one two/'three"], ['NEXT', 1]]);
  });

  it('keeps an ampersand that no CONTINUE follows', () => {
    expect(parseCards(["A       = 'b &'", card('NEXT', 1)]).get('A')).toBe('b &');
  });

  it('passes over commentary, cards without a value indicator and what stands after END', () => {
    const cards = ['COMMENT = 1', 'HISTORY   x', 'NOVALUE   3', '', 'ENDTIME = 5', 'END', card('LATE', 1)];
    expect([...parseCards(cards.map((c) => c.padEnd(80)))]).toEqual([['ENDTIME', 5]]);
  });

  it('takes the first of a keyword given twice', () => {
    expect(parseCards([card('A', 1), card('A', 2)]).get('A')).toBe(1);
  });

  it('reads back any printable string, long ones by CONTINUE', () => {
    const printable = fc.string({ unit: fc.constantFrom(..."'/&= abcXYZ019-:.,~"), maxLength: 300 }).map((s) => s.trimEnd());
    fc.assert(
      fc.property(printable, (text) => {
        expect(parseCards(stringCards('KEY', text)).get('KEY')).toBe(text);
      }),
      { numRuns: 500 },
    );
  });

  it('reads back any number as JavaScript writes it', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), fc.boolean(), (number, fortran) => {
        const text = fortran ? String(number).replace('e', 'D') : String(number);
        expect(value(text)).toBe(Number(String(number)));
      }),
    );
  });
});

/** Cards of a string by FITS 4.0, section 4.2.1.2; pieces of 30 characters fit a card even if all are quotes to be doubled. */
function stringCards(keyword: string, text: string): string[] {
  const pieces = text.match(/.{1,30}/gs) ?? [''];
  return pieces.map((piece, i) => {
    const quoted = `'${piece.replaceAll("'", "''")}${i < pieces.length - 1 ? '&' : ''}'`;
    return (i === 0 ? `${keyword.padEnd(8)}= ${quoted}` : `CONTINUE  ${quoted}`).padEnd(80);
  });
}
