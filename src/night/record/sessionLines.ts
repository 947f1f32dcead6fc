import { checkEntry } from './checkEntry.js';
import { OLD_SCHEMA, type Recorded, SESSION_SCHEMA, type SessionEntry } from './entry.js';

/** A line that could not be read. It stays in the file unchanged. */
export interface SessionWarning {
  readonly code: 'line-torn' | 'line-unreadable';
  /** Counted from 1. */
  readonly line: number;
  readonly message: string;
}

/** What the text of a session file contains. */
export interface SessionLines {
  readonly recorded: readonly Recorded[];
  readonly warnings: readonly SessionWarning[];
}

/** What every session file begins with; `start` is written with the schema first. */
const BEGINNINGS = [SESSION_SCHEMA, OLD_SCHEMA].map((schema) => `{"schema":"${schema}"`);
/** The start of a session that a later version of the program made. */
const ANY_VERSION = /^\{"schema":"poleward\/session-(\d{1,6})"/;

/** An entry as its line, with the line end. The schema comes first, so that the file is identified by its first bytes. */
export function lineOf(entry: SessionEntry): string {
  if (entry.kind !== 'start') return `${JSON.stringify(entry)}\n`;
  const { schema, ...rest } = entry;
  return `${JSON.stringify({ schema, ...rest })}\n`;
}

/** Whether a text can be a session file: empty, or its first line is a start or the cut-off beginning of one. */
export function looksLikeSession(text: string): boolean {
  const end = text.indexOf('\n');
  const first = end < 0 ? text : text.slice(0, end);
  return BEGINNINGS.some((beginning) => first.startsWith(beginning) || beginning.startsWith(first));
}

/** The version of a session file that begins as one of this program, whatever version it is; null for other files. */
export function sessionVersion(text: string): number | null {
  const match = ANY_VERSION.exec(text);
  return match ? Number(match[1]) : null;
}

/**
 * Reads the text of a session file, line by line. A line cut off by a crash can't be JSON, since each line is one object; a whole object
 * that only lacks its line end counts. Lines that can't be read are left out with a warning; the others count.
 */
export function parseSessionLines(text: string): SessionLines {
  const recorded: Recorded[] = [];
  const warnings: SessionWarning[] = [];
  const lines = text.split('\n');
  lines.forEach((content, i) => {
    if (content.trim() === '') return;
    const entry = entryOf(content);
    const line = i + 1;
    if (typeof entry !== 'string') {
      recorded.push({ line, entry });
    } else if (i === lines.length - 1) {
      warnings.push({ code: 'line-torn', line, message: `The session's last line (${line}) was cut off while it was written, and is `
        + `left out. The lines before it are whole.` });
    } else {
      warnings.push({ code: 'line-unreadable', line, message: `Line ${line} of the session ${entry}, and is left out. It stays in the `
        + `file; the other lines stand.` });
    }
  });
  return { recorded: withoutReplaced(recorded), warnings };
}

/** Leaves out looks whose file has changed since it was read, and their answers. */
function withoutReplaced(recorded: readonly Recorded[]): readonly Recorded[] {
  const from = new Map<string, number>();
  for (const { line, entry } of recorded) if (entry.kind === 'look' && entry.replaces !== undefined) from.set(entry.replaces, line);
  if (from.size === 0) return recorded;
  return recorded.filter(({ line, entry }) => {
    const utc = entry.kind === 'look' ? entry.look.utc : entry.kind === 'answer' ? entry.utc : null;
    return utc === null || line >= (from.get(utc) ?? 0);
  });
}

/** Times (ISO UTC) of looks after which lines could not be read, so that looks may be missing. A line cut off by a crash is one of them. */
export function lostAfter({ recorded, warnings }: SessionLines): string[] {
  const looks = recorded.flatMap(({ line, entry }) => (entry.kind === 'look' ? [{ line, utc: entry.look.utc }] : []));
  return warnings.flatMap(({ line }) => looks.filter((look) => look.line < line).at(-1)?.utc ?? []);
}

/** Whether the text of a session file holds a start that can be read; looks no further than that. */
export function hasStart(text: string): boolean {
  for (let from = 0; from >= 0 && from < text.length;) {
    const end = text.indexOf('\n', from);
    const line = text.slice(from, end < 0 ? undefined : end);
    if (BEGINNINGS.some((beginning) => line.startsWith(beginning))) {
      const entry = entryOf(line);
      if (typeof entry !== 'string' && entry.kind === 'start') return true;
    }
    if (end < 0) return false;
    from = end + 1;
  }
  return false;
}

function entryOf(content: string): SessionEntry | string {
  let value: unknown;
  try {
    value = JSON.parse(content);
  } catch {
    return 'is not JSON';
  }
  return checkEntry(value);
}
