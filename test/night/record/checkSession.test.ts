import { describe, expect, test } from 'vitest';
import { checkSession, whyNotOf } from '../../../src/night/record/checkSession.js';
import type { SessionEntry } from '../../../src/night/record/entry.js';
import type { Session } from '../../../src/night/record/session.js';
import { SITE, after, note, recheck, rotation, start } from './entries.js';

const sessionOf = (...entries: SessionEntry[]): Session =>
  ({
    path: '/frames/poleward-session.jsonl', start: start(), recorded: [start(), ...entries].map((entry, i) => ({ line: i + 1, entry })),
    warnings: [],
  });
const session = sessionOf(rotation(0, 7, -26), recheck(60, 7, -1), note('packing up', 300));
const frames = (minutes: number, change: Partial<Parameters<typeof checkSession>[1]> = {}) =>
  ({ times: [new Date(after(minutes))], site: SITE, hemisphere: 1 as const, ...change });
const HOUR = 60;

describe('frames belong to a session', () => {
  test.each([
    ['of the same evening', frames(90)],
    ['twelve hours after its last frame, not its first', frames(60 + 12 * HOUR)],
    ['taken before it, the same night', frames(-3 * HOUR)],
    ['a few hundred metres away', frames(90, { site: { ...SITE, latitudeDeg: 46.505, longitudeDeg: 11.205 } })],
    ['with the longitude counted the other way', frames(90, { site: { ...SITE, longitudeDeg: 11.2 - 360 } })],
    ['from a site that is not known', frames(90, { site: null })],
    ['without a time', frames(0, { times: [] })],
  ])('%s', (_, added) => {
    expect(() => { checkSession(session, added); }).not.toThrow();
  });

  test('before anything was measured', () => {
    expect(() => { checkSession(sessionOf(note('x')), frames(1000 * HOUR)); }).not.toThrow();
  });
});

describe('a new session is asked for', () => {
  test.each([
    ['more than twelve hours later', frames(61 + 12 * HOUR), /another night: 12 hours lie/],
    ['a week later', frames(7 * 24 * HOUR), /another night: 7 days lie/],
    ['with one such frame among others', frames(90, { times: [new Date(after(90)), new Date(after(40 * HOUR))] }), /another night/],
    ['of a night before', frames(-30 * HOUR), /another night/],
    ['two kilometres north', frames(90, { site: { ...SITE, latitudeDeg: 46.52 } }), /another site \(latitude 46.5°/],
    ['two kilometres east', frames(90, { site: { ...SITE, longitudeDeg: 11.23 } }), /another site/],
    ['of the other pole', frames(90, { hemisphere: -1 as const }), /northern pole, these frames show the other/],
  ])('%s', (_, added, says) => {
    expect(() => { checkSession(session, added); }).toThrow(expect.objectContaining({
      code: 'session-differs', message: expect.stringMatching(says) as string,
    }));
    expect(() => { checkSession(session, added); }).toThrow(expect.objectContaining({ remedies: ['new-session', 'name-session'] }));
    expect(whyNotOf(session, added)).toMatch(says);
  });
});
