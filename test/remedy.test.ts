import { describe, expect, it } from 'vitest';
import { PolewardError, attempt } from '../src/error.js';
import { withRemedies } from '../src/remedy.js';

const words = (remedy: unknown): string => (remedy === 'overwrite' ? '--over' : remedy === 'give-zone' ? '--zone' : '');

describe('a message with its remedies', () => {
  it.each([
    ['A is wrong. Give the zone.', ['give-zone'] as const, 'A is wrong. Give the zone (--zone).'],
    ['Give it', ['give-zone', 'overwrite'] as const, 'Give it (--zone, --over)'],
    ['Put this right:\nline 1: x.', ['give-zone'] as const, 'Put this right (--zone):\nline 1: x.'],
    ['Give the zone.', ['give-zone', 'give-zone'] as const, 'Give the zone (--zone).'],
    ['Nothing here says more.', ['give-air'] as const, 'Nothing here says more.'],
    ['Nothing to do.', undefined, 'Nothing to do.'],
  ])('%s', (message, remedies, says) => {
    expect(withRemedies(message, remedies, words)).toBe(says);
  });
});

describe('an attempt', () => {
  it('gives what the work gives, or the error that a person can put right', () => {
    expect(attempt(() => 3)).toBe(3);
    const error = new PolewardError('bad-option', 'No.', { remedies: ['give-zone'] });
    expect(attempt(() => { throw error; })).toBe(error);
    expect(error.remedies).toEqual(['give-zone']);
  });
  it('lets every other error go on', () => {
    expect(() => attempt(() => { throw new TypeError('a fault of the program'); })).toThrow(TypeError);
  });
});
