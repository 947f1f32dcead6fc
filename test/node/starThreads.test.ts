import { describe, expect, it } from 'vitest';
import { threadsFor } from '../../src/node/starThreads.js';

describe('threads for large frames', () => {
  it('is one for a few frames where processors are few, since this thread recognises meanwhile', () => {
    for (const processors of [1, 2, 3]) for (const frames of [1, 2, 3, 4]) expect(threadsFor(frames, processors)).toBe(1);
  });

  it('never exceeds frames, processors or four', () => {
    for (let frames = 1; frames < 40; frames++) {
      for (let processors = 1; processors < 20; processors++) {
        const threads = threadsFor(frames, processors);
        expect(threads).toBeGreaterThanOrEqual(1);
        expect(threads).toBeLessThanOrEqual(Math.min(frames, processors, 4));
      }
    }
    expect(threadsFor(10, 2)).toBe(2);
    expect(threadsFor(3, 4)).toBe(3);
    expect(threadsFor(40, 16)).toBe(4);
  });
});
