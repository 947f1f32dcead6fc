import { describe, expect, it } from 'vitest';
import { progressLine, showsProgress } from '../../src/cli/progress.js';

describe('progress', () => {
  it('is shown only on a terminal that can take a line back, and only of work that lasts', () => {
    const place = { isTerminal: true, terminal: 'xterm', runningMs: 2000 };
    expect(showsProgress(place)).toBe(true);
    // Windows terminals name no TERM.
    expect(showsProgress({ ...place, terminal: undefined })).toBe(true);
    expect(showsProgress({ ...place, isTerminal: false })).toBe(false);
    expect(showsProgress({ ...place, terminal: 'dumb' })).toBe(false);
    expect(showsProgress({ ...place, runningMs: 100 })).toBe(false);
  });
  it('is one line of at most 60 columns', () => {
    expect(progressLine('frames read', 2, 3)).toBe('frames read: 2 of 3');
    expect(progressLine('x'.repeat(100), 2, 3)).toHaveLength(60);
  });
});
