import fc from 'fast-check';
import { expect, it } from 'vitest';
import { byName } from '../src/fileName.js';

it('orders names as people count them', () => {
  const names = ['frame-1.fits', 'frame-2.fits', 'frame-010.fits', 'Frame-11.fits', 'frame.fits', 'light 3.fits'];
  for (let turn = 0; turn < names.length; turn++) expect([...names.slice(turn), ...names.slice(0, turn)].sort(byName)).toEqual(names);
  expect(byName('a2b10', 'a2b9')).toBeGreaterThan(0);
  expect(byName('night/2', 'night/2')).toBe(0);
});
it('is the order of the platform\'s own collation for names of one kind', () => {
  const collator = new Intl.Collator('en', { numeric: true });
  fc.assert(fc.property(fc.constantFrom('IMG_', 'frame-', 'a'), fc.nat(20_000), fc.nat(20_000), (stem, a, b) => {
    const [p, q] = [`${stem}${a}.fits`, `${stem}${b}.fits`];
    expect(Math.sign(byName(p, q))).toBe(Math.sign(collator.compare(p, q)));
  }), { numRuns: 200 });
});
