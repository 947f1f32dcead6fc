import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { createServer } from 'node:net';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

const main = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));

/** What a watch says until it watches (colours left out), how its panel's address answers, and its exit code after Ctrl-C. */
async function greeting(...words: string[]): Promise<{ out: string; answered: number | null; status: number | null }> {
  const folder = scratchFolder(), state = scratchFolder();
  const child = spawn(
    process.execPath, [main, 'watch', folder, ...words], { env: { ...process.env, XDG_STATE_HOME: state, LOCALAPPDATA: state } },
  );
  let out = '';
  await new Promise<void>((resolve) => {
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      out = (out + text).replace(/\u001b\[[\d;]*m/g, '');
      if (/watching [\s\S]*next: [\s\S]*frame\./.test(out)) resolve();
    });
  });
  const address = /http:\S+/.exec(out)?.[0];
  const answered = address === undefined ? null : (await fetch(address)).status;
  child.kill('SIGINT');
  const [status] = await once(child, 'exit') as [number | null];
  return { out, answered, status };
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
