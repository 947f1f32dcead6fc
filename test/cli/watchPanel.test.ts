import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { copyFileSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { skyFramePaths } from '../skies.js';
import type { PanelView } from '../../src/panel/panelView.js';
import { poleward, scratchFolder } from './poleward.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

interface Greeting {
  /** What the watch says until it waits for frames, colours left out. */
  readonly out: string;
  /** HTTP status of the panel's address, and the panel's first view. */
  readonly answered: number | null;
  readonly view: Pick<PanelView, 'next' | 'off' | 'knobs'> | null;
  /** Exit code after Ctrl-C. */
  readonly status: number | null;
}

/** Starts a watch in an empty folder, and ends it once it waits for frames. */
const greeting = (...words: string[]): Promise<Greeting> => greetingIn(scratchFolder(), ...words);

async function greetingIn(folder: string, ...words: string[]): Promise<Greeting> {
  const state = scratchFolder();
  const child = spawn(
    process.execPath, [main, 'watch', folder, ...words], { env: { ...process.env, XDG_STATE_HOME: state, LOCALAPPDATA: state } },
  );
  let out = '';
  await new Promise<void>((resolve) => {
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      out = (out + text).replace(/\u001b\[[\d;]*m/g, '');
      if (/watching [\s\S]*next: [\s\S]*(frame|axis)\.\n/.test(out)) resolve();
    });
  });
  const address = /http:\S+/.exec(out)?.[0];
  const answered = address === undefined ? null : (await fetch(address)).status;
  const view = address === undefined ? null : await firstView(address);
  child.kill('SIGINT');
  const [status] = await once(child, 'exit') as [number | null];
  return { out, answered, view, status };
}

/** The first event that a panel sends. */
async function firstView(address: string): Promise<Greeting['view']> {
  const events = (await fetch(`${address}events`)).body!.pipeThrough(new TextDecoderStream()).getReader();
  for (let text = ''; ;) {
    const found = /^data: (\{.*\})$/m.exec(text)?.[1];
    if (found !== undefined) {
      await events.cancel();
      return JSON.parse(found) as Greeting['view'];
    }
    text += (await events.read()).value ?? '';
  }
}

describe('watch --panel', () => {
  test('says where the panel is, and that only this computer sees it', async () => {
    const { out, status, answered } = await greeting('--panel', '--panel-port', '0');
    expect(out).toMatch(/^Panel, on this computer alone: http:\/\/127\.0\.0\.1:\d+\/\n/);
    expect(answered).toBe(200);
    expect(status).toBe(0);
  });

  test('says that a port was in use and which one it took', async () => {
    const taken = createServer().listen(0, '127.0.0.1');
    await once(taken, 'listening');
    const { port } = taken.address() as { port: number };
    const { out, status } = await greeting('--panel', '--panel-port', `${port}`);
    taken.close();
    expect(status).toBe(0);
    const [, used, took] = /Port (\d+) is in use; the panel took (\d+)\./.exec(out)!;
    expect(Number(used)).toBe(port);
    expect(Number(took)).toBeGreaterThan(port);
    expect(out).toContain(`http://127.0.0.1:${took!}/`);
  });

  test('--panel-open shows a code and an address with a key, 60 columns wide', async () => {
    const { out, status, answered } = await greeting('--panel-open', '--panel-port', '0', '--night');
    expect(status).toBe(0);
    expect(out).toMatch(/█▀▀|▄▄▄/);
    expect(out).toMatch(/http:\/\/[\d.]+:\d+\/[\w-]{22}\/\n/);
    expect(answered).toBe(200);
    for (const line of out.split('\n')) expect(line.length).toBeLessThanOrEqual(60);
  });

  test('wrong values are refused with what would be right', () => {
    const folder = scratchFolder();
    for (const [option, value, words] of [
      ['--panel-port', '70000', /whole number up to 65535/], ['--panel-port', 'x', /whole number/],
      ['--limit', '0', /from 0\.01 to 600/], ['--panel-limit', '1', /unknown option '--panel-limit'/],
    ] as const) {
      const ran = poleward('watch', folder, option, value);
      expect(ran.status).toBe(2);
      expect(ran.err).toMatch(words);
    }
  });
});

describe('a watch that is started again', () => {
  const folder = scratchFolder();
  const path = (n: number): string => join(folder, `frame-${n}.fits`);
  writeFileSync(join(folder, 'poleward.json'), JSON.stringify({
    limitArcmin: 6, site: { latitudeDeg: 39.2, longitudeDeg: -3.4, elevationMetres: 710 },
    knobs: { azimuth: { arcminPerTurn: 60, clockwise: 'east' }, altitude: { arcminPerTurn: 40, clockwise: 'raise' } },
  }));
  skyFramePaths('adjusting').forEach((frame, i) => { copyFileSync(frame, path(i + 1)); });
  /** Verdict, how far and how sure, next step: all before the command that follows. */
  const answer = (...words: string[]): string => {
    const ran = poleward(...words, '--session', join(folder, 'poleward-session.jsonl'));
    expect(ran.status, ran.err).toBe(0);
    return /^[\s\S]*?\nnext: .*(\n {2}(?!poleward).*)*/.exec(ran.out)![0];
  };
  const nextOf = (text: string): string => /next: [\s\S]*/.exec(text)![0];

  test.each([
    [
      'after a measurement says which knob, which way and how far', ['measure', path(1), path(2), path(3)],
      /^azimuth first: just under half a turn \(0\.43\) clockwise/, /^Azimuth: just under half a turn \(0\.43\) clockwise, then save a frame\.$/, 'east, right',
    ],
    [
      'within the limit says what is left to do', ['recheck', path(4), path(5)],
      /^good enough: 5\.95′ off the pole, limit 6′/, /^Lock the bolts, save one more frame/, 'east, right',
    ],
  ] as const)('%s, in the words of the last answer', async (_, words, verdict, panel, way) => {
    const said = answer(...words);
    expect(said).toMatch(verdict);
    const { out, view, status } = await greetingIn(folder, '--panel', '--panel-port', '0');
    expect(status).toBe(0);
    expect(out).toContain(`\n\n${said}\n`);
    expect(view!.next).toMatch(panel);
    expect(view!.off!.text).toMatch(/^\d+(\.\d+)?′ ± 0\.1″ off the pole$/);
    expect(view!.knobs[0]!.way).toBe(way);
    const log = poleward('log', '--session', join(folder, 'poleward-session.jsonl')).out;
    expect(log).toContain(`\n\n${nextOf(said)}\n`);
    expect(log).toMatch(new RegExp(verdict.source, 'm'));
  });
});
