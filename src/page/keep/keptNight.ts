import type { KnobTurned } from '../../knobs/learnedKnobs.js';
import type { Recorded, SessionEntry, StartEntry } from '../../night/record/entry.js';
import type { Session } from '../../night/record/session.js';
import { lineOf, parseSessionLines } from '../../night/record/sessionLines.js';

/** A night as the browser keeps it: the lines of its session file, and what is not in them yet. */
export interface KeptNight {
  readonly name: string;
  /** Counts changes, so that two tabs don't write over each other. */
  readonly revision: number;
  readonly lines: readonly string[];
  /** Turned since the last look: part of the record once the next one comes. */
  readonly turned: readonly KnobTurned[];
  /** What the last answer assumes, a line each. */
  readonly assumed: readonly string[];
}

/** A new night, named by `at`. */
export function newNight(at: Date): KeptNight {
  return { name: `night-${at.toISOString().slice(0, 19).replaceAll(':', '')}`, revision: 0, lines: [], turned: [], assumed: [] };
}

/** The session in a kept night; null before its first look. */
export function sessionOf({ name, lines }: KeptNight): Session | null {
  if (lines.length === 0) return null;
  const { recorded, warnings } = parseSessionLines(lines.join(''));
  const start = startOf(recorded);
  return start ? { path: name, start, recorded, warnings } : null;
}

/** The night with more entries at its end. */
export function withEntries(
  night: KeptNight, entries: readonly SessionEntry[], more: Partial<Pick<KeptNight, 'turned' | 'assumed'>>,
): KeptNight {
  return { ...night, revision: night.revision + 1, lines: [...night.lines, ...entries.map(lineOf)], ...more };
}

/** The night without its last look and its answer; null where it has none. */
export function withoutLastLook(night: KeptNight): KeptNight | null {
  const kinds = night.lines.map((line) => parseSessionLines(line).recorded[0]?.entry.kind ?? null);
  const look = kinds.lastIndexOf('look');
  if (look < 0) return null;
  // Turns before it stay.
  const lines = night.lines.filter((_, i) => i < look || (i > look && kinds[i] !== 'answer'));
  return { ...night, revision: night.revision + 1, lines, assumed: [] };
}

function startOf(recorded: readonly Recorded[]): StartEntry | null {
  for (const { entry } of recorded) if (entry.kind === 'start') return entry;
  return null;
}
