import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { watch } from 'node:fs/promises';
import { type Socket, connect } from 'node:net';
import { join } from 'node:path';
import { scratchFolder } from '../cli/poleward.js';

/** Where systems put Firefox; `FIREFOX` names another. */
const PLACES = [
  process.env['FIREFOX'], '/usr/bin/firefox-esr', '/usr/bin/firefox', '/Applications/Firefox.app/Contents/MacOS/firefox',
  `${process.env['ProgramFiles'] ?? ''}\\Mozilla Firefox\\firefox.exe`,
];

export const firefoxPath = PLACES.find((path): path is string => path !== undefined && existsSync(path)) ?? null;

if (firefoxPath === null) process.stderr.write('No Firefox here: its test is skipped. Install it, or name it with FIREFOX=PATH.\n');

/** By this name WebDriver gives an element ("web element identifier", W3C WebDriver 2). */
const ELEMENT = 'element-6066-11e4-a52e-4f735466cecf';

/**
 * A Firefox without a window, driven by Marionette, the remote protocol that every Firefox has: WebDriver's commands as JSON over TCP,
 * each message after its length. `playwright-core` wants a command of BiDi that Firefox 153 does not know.
 */
export class Firefox {
  private number = 0;
  private rest = Buffer.alloc(0);
  private waiting: ((message: unknown) => void) | null = null;

  private constructor(private readonly child: ChildProcess, private readonly socket: Socket, readonly downloads: string) {
    socket.on('data', (bytes) => {
      this.rest = Buffer.concat([this.rest, bytes]);
      const colon = this.rest.indexOf(':');
      const end = colon + 1 + Number(this.rest.subarray(0, Math.max(0, colon)));
      if (colon < 0 || this.rest.length < end) return;
      const message = JSON.parse(this.rest.subarray(colon + 1, end).toString()) as unknown;
      this.rest = this.rest.subarray(end);
      this.waiting?.(message);
    });
  }

  /** Starts it with a profile of its own. What it downloads goes to `downloads`. */
  static async start(): Promise<Firefox> {
    const [profile, downloads] = [scratchFolder(), scratchFolder()];
    const preferences = { 'marionette.port': 0, 'browser.download.folderList': 2, 'browser.download.dir': downloads };
    writeFileSync(join(profile, 'user.js'), Object.entries(preferences)
      .map(([name, value]) => `user_pref(${JSON.stringify(name)}, ${JSON.stringify(value)});\n`).join(''));
    const child = spawn(firefoxPath!, ['--headless', '--marionette', '--no-remote', '--profile', profile], { stdio: 'ignore' });
    // Whatever becomes of the test, nothing is left running.
    process.once('exit', () => child.kill());
    const port = await Promise.race([portIn(profile), once(child, 'exit').then(() => { throw new Error('Firefox ended'); })]);
    const firefox = new Firefox(child, connect(port, '127.0.0.1'), downloads);
    await new Promise<unknown>((resolve) => { firefox.waiting = resolve; });
    await firefox.ask('WebDriver:NewSession', {});
    await firefox.ask('WebDriver:SetTimeouts', { script: 60_000 });
    return firefox;
  }

  async open(address: string): Promise<void> {
    await this.ask('WebDriver:Navigate', { url: address });
  }

  /** Leaves the page and opens it again. WebDriver's own reload goes past the service worker. */
  async reopen(address: string): Promise<void> {
    await this.open('about:blank');
    await this.open(address);
  }

  /** Runs a script's text in the page; its `return` is the result, a promise is waited for. */
  async run(script: string): Promise<unknown> {
    return this.ask('WebDriver:ExecuteScript', { script, args: [] });
  }

  /** Waits until an expression is true in the page, which is asked at each frame that it paints. */
  async until(expression: string): Promise<void> {
    await this.run(`return new Promise((done) => { const look = () => (${expression} ? done() : requestAnimationFrame(look)); look(); })`);
  }

  /** Puts files into a file input, as a person picks them. */
  async pick(selector: string, files: readonly string[]): Promise<void> {
    const found = await this.ask('WebDriver:FindElement', { using: 'css selector', value: selector }) as Record<string, string>;
    await this.ask('WebDriver:ElementSendKeys', { id: found[ELEMENT], text: files.join('\n') });
  }

  /** PNG of what is in sight. */
  async screenshot(): Promise<Buffer> {
    return Buffer.from(await this.ask('WebDriver:TakeScreenshot', { full: false }) as string, 'base64');
  }

  async close(): Promise<void> {
    const ended = once(this.child, 'exit');
    await this.ask('Marionette:Quit', { flags: ['eForceQuit'] });
    this.socket.destroy();
    await ended;
  }

  private async ask(command: string, parameters: Readonly<Record<string, unknown>>): Promise<unknown> {
    const text = Buffer.from(JSON.stringify([0, ++this.number, command, parameters]));
    const answer = new Promise<unknown>((resolve) => { this.waiting = resolve; });
    this.socket.write(`${text.length}:`);
    this.socket.write(text);
    const [, , error, result] = await answer as [1, number, { message: string } | null, unknown];
    if (error) throw new Error(`${command}: ${error.message}`);
    return result !== null && typeof result === 'object' && 'value' in result ? result.value : result;
  }
}

/** The port that Firefox writes into its profile once it listens. */
async function portIn(profile: string): Promise<number> {
  const file = join(profile, 'MarionetteActivePort');
  for await (const { eventType } of watch(profile)) {
    const port = eventType && existsSync(file) ? Number(readFileSync(file, 'utf8')) : 0;
    if (port > 0) return port;
  }
  throw new Error('Firefox gave no port');
}
