import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { PLAY_HELP, playCommand } from '../../src/cli/playCommand.js';
import { PolewardError } from '../../src/error.js';

describe('a line of a practice night', () => {
  test.each([
    ['azimuth 0.5', { does: 'knob', turned: { knob: 'azimuth', turns: 0.5 } }],
    ['alt=-1/4', { does: 'knob', turned: { knob: 'altitude', turns: -0.25 } }],
    ['AZ +0,3', { does: 'knob', turned: { knob: 'azimuth', turns: 0.3 } }],
    ['  slew   -30° ', { does: 'slew', degrees: -30 }],
    ['s −12.5', { does: 'slew', degrees: -12.5 }],
    ['f', { does: 'frame' }], ['an', { does: 'answer' }], ['t', { does: 'truth' }], ['h', { does: 'help' }], ['end', { does: 'end' }],
    ['', null], [' \t', null],
  ])('%j means what it says', (line, meant) => {
    expect(playCommand(line)).toEqual(meant);
  });

  test.each([
    ['a 1', /may be azimuth or altitude or answer/], ['turn', /is not a word here\. Write one of azimuth/],
    ['azimuth', /is not a turn of a knob/], ['altitude much', /is not a turn of a knob/], ['azimuth 1000', /is not a turn of a knob/], ['slew', /not an angle of a slew/],
    ['slew 400', /not an angle of a slew/], ['frame 2', /takes nothing after it/], ['= 3', /is not a word/],
  ])('%j is refused in a sentence', (line, why) => {
    expect(() => playCommand(line)).toThrow(PolewardError);
    expect(() => playCommand(line)).toThrow(why);
  });

  test('whatever is typed is a command, nothing, or an error that a person can put right', () => {
    fc.assert(fc.property(fc.oneof(fc.string(), fc.string({ unit: 'binary' })), (line) => {
      try {
        playCommand(line);
      } catch (error) {
        expect(error).toBeInstanceOf(PolewardError);
      }
    }), { numRuns: 300 });
  });
});

test('its help fits 60 columns', () => {
  expect(Math.max(...PLAY_HELP.split('\n').map((line) => line.length))).toBeLessThanOrEqual(60);
});
