import { spawnSync } from 'node:child_process';
import {
  chmodSync, closeSync, copyFileSync, existsSync, ftruncateSync, mkdirSync, openSync, readdirSync, readFileSync, renameSync, rmSync,
  symlinkSync, truncateSync, utimesSync, writeFileSync, writeSync,
} from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';

/** What the mischief is done with. */
export interface Playground {
  readonly folder: string;
  /** Bytes of a frame of the night. */
  readonly frame: Buffer;
  /** Bytes of a frame that shows no sky. */
  readonly strewn: Buffer;
  readonly uniform: () => number;
}

/** Something that goes wrong in a folder, or is meant to. What it leaves may stay. */
type Mischief = (name: string, play: Playground) => void | Promise<void>;

const CHUNK = 65_536;

const KINDS: Readonly<Record<string, Mischief>> = {
  empty: (name) => writeFileSync(name, ''),
  noise: (name, { uniform }) => writeFileSync(name, Buffer.from(Array.from({ length: 5000 }, () => Math.floor(256 * uniform())))),
  half: (name, { frame, uniform }) => writeFileSync(name, frame.subarray(0, Math.floor(frame.length * uniform()))),
  sized: (name, { frame, uniform }) => {
    const file = openSync(name, 'w');
    ftruncateSync(file, frame.length);
    writeSync(file, frame, 0, Math.floor(frame.length * uniform()), 0);
    closeSync(file);
  },
  copyBrokenOff: async (name, { frame }) => {
    const file = openSync(name, 'w');
    for (let at = 0; at < frame.length / 3; at += CHUNK) {
      writeSync(file, frame, at, CHUNK, at);
      await sleep(200);
    }
    closeSync(file);
  },
  folder: (name) => mkdirSync(name),
  pipe: (name) => { spawnSync('mkfifo', [name]); },
  danglingLink: (name) => symlinkSync('nothing there.fits', name),
  endlessLink: (name) => symlinkSync(name, name),
  device: (name) => symlinkSync('/dev/zero', name),
  longName: (name) => writeFileSync(join(name, '..', `${'x'.repeat(240)}.fits`), 'SIMPLE'),
  steeringName: (name) => writeFileSync(join(name, '..', `\u001b[2J\u202e ${name.slice(-9)}`), 'SIMPLE'),
  unreadable: (name, { frame }) => { writeFileSync(name, frame); chmodSync(name, 0); },
  noSky: (name, { strewn }) => writeFileSync(name, strewn),
  copyOfAnOld: (name, { frame }) => writeFileSync(name, frame),
  touched: (_, { folder, uniform }) => {
    const old = some(folder, uniform);
    if (old !== null) utimesSync(old, new Date(), new Date());
  },
  renamed: (name, { folder, uniform }) => {
    const old = some(folder, uniform);
    if (old !== null) renameSync(old, name);
  },
  truncated: (_, { folder, uniform }) => {
    const old = some(folder, uniform);
    if (old !== null) truncateSync(old, 30_000);
  },
  deleted: (_, { folder, uniform }) => {
    const old = some(folder, uniform);
    if (old !== null) rmSync(old, { recursive: true, force: true });
  },
  lockLeft: (_, { folder }) => writeFileSync(join(folder, 'poleward-session.jsonl.lock'), '{"pid":1,"host":"nobody","token":"x"}'),
};

/** Frames of known truth are left alone: the files that mischief makes begin with "m". */
function some(folder: string, uniform: () => number): string | null {
  const own = readdirSync(folder).filter((name) => /^m\d+ .*\.fits$/.test(name) && !name.includes('folder'));
  return own.length === 0 ? null : join(folder, own[Math.floor(own.length * uniform())]!);
}

export const MISCHIEF = Object.keys(KINDS);

/** Does one thing; what the system refuses is ignored. */
export async function makeMischief(kind: string, count: number, play: Playground): Promise<void> {
  try {
    await KINDS[kind]!(join(play.folder, `m${count} ${kind}.fits`), play);
  } catch (error) {
    if (!(error instanceof Error && 'code' in error)) throw error;
  }
}

/** The folder goes and comes back, empty. */
export async function foldAway(folder: string): Promise<void> {
  // The watch may write its record meanwhile.
  while (existsSync(folder)) {
    try {
      rmSync(folder, { recursive: true, force: true });
    } catch (error) {
      if (!(error instanceof Error && 'code' in error && error.code === 'ENOTEMPTY')) throw error;
    }
  }
  await sleep(1500);
  mkdirSync(folder);
}

/** How a true frame may come; resolves when its last byte is written. */
export const WAYS: Readonly<Record<string, (from: string, to: string) => Promise<void>>> = {
  copied: async (from, to) => copyFileSync(from, to),
  renamed: async (from, to) => {
    copyFileSync(from, `${to}.part`);
    renameSync(`${to}.part`, to);
  },
  grown: (from, to) => slowly(from, to, false),
  sized: (from, to) => slowly(from, to, true),
  cutFirst: async (from, to) => {
    writeFileSync(to, readFileSync(from).subarray(0, 200_000));
    await sleep(1000);
    copyFileSync(from, to);
  },
};

async function slowly(from: string, to: string, sized: boolean): Promise<void> {
  const bytes = readFileSync(from);
  const file = openSync(to, 'w');
  if (sized) ftruncateSync(file, bytes.length);
  for (let at = 0; at < bytes.length; at += CHUNK) {
    if (at > 0) await sleep(600);
    writeSync(file, bytes, at, Math.min(CHUNK, bytes.length - at), at);
  }
  closeSync(file);
}

