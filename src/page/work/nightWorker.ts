import { PolewardError } from '../../error.js';
import { withRemedies } from '../../remedy.js';
import { browserDecoders } from '../frame/browserDecoders.js';
import { openDatabase } from '../keep/database.js';
import type { FromWorker, ToWorker } from '../messages.js';
import { remedyWords } from '../remedyWords.js';
import { assetsOf } from './assets.js';
import { FramesApart } from './framesApart.js';
import { NightWork } from './nightWork.js';
import { packedFrom } from './packedFrom.js';
import { rawDecoder } from './rawDecoder.js';
import { Rests, Stopped } from './rests.js';
import { starsFrom } from './stars.js';
import { type Work, workOn } from './work.js';

/** The program's version, put in when the page is built. */
declare const VERSION: string;

/** What of a worker's own world is used; the types at hand are those of a page. */
export interface NightWorld {
  postMessage(says: FromWorker): void;
  onmessage: ((event: MessageEvent<ToWorker>) => void) | null;
}

/** Does all that the page asks for, one thing after the other. */
export function serveNight(world: NightWorld): void {
  const packed = packedFrom((name) => world.postMessage({ kind: 'wanted', name }));
  const assets = assetsOf(packed.ask);
  const rests = new Rests();
  const others = new BroadcastChannel('poleward');
  /** Requests are served one after the other. */
  let queue: Promise<unknown> = Promise.resolve();

  const progress = (what: string, done: number, of: number): void => world.postMessage({ kind: 'progress', what, done, of });

  const ready: Promise<{ readonly nights: NightWork; readonly work: Work }> = (async () => {
    const stars = starsFrom(assets, () => progress('stars of the whole sky', 0, 1));
    const frames = new FramesApart(rests, () => assets.address('worker'), packed.ask);
    // Started before the first frame.
    stars.near().catch(() => {});
    frames.ready().catch(() => {});
    const means = {
      database: await openDatabase(), decoders: browserDecoders(rawDecoder(assets)), frames, rests, version: VERSION, progress, stars,
      changed: () => others.postMessage('changed'),
    };
    const nights = new NightWork(means);
    await nights.begin();
    return { nights, work: workOn(nights, means) };
  })();

  others.onmessage = () => {
    queue = queue.then(async () => {
      world.postMessage({ kind: 'changed', shown: await (await ready).work.shown() });
    }).catch(() => {});
  };

  world.onmessage = ({ data }) => {
    if (data.kind === 'asset') packed.came(data.name, data.packed);
    else if (data.kind === 'stop') rests.stop();
    else queue = queue.then(() => answer(data));
  };

  async function answer({ number, name, words }: Extract<ToWorker, { kind: 'ask' }>): Promise<void> {
    rests.begin();
    try {
      const { work } = await ready;
      const task = work[name as keyof Work] as (...words: readonly unknown[]) => Promise<unknown>;
      world.postMessage({ kind: 'done', number, result: await task(...words) });
    } catch (error) {
      world.postMessage({ kind: 'failed', number, ...saidOf(error) });
    }
  }
}

function saidOf(error: unknown): { message: string; stopped: boolean } {
  if (error instanceof Stopped) return { message: 'Stopped. Earlier answers stand.', stopped: true };
  if (error instanceof PolewardError) return { message: withRemedies(error.message, error.remedies, remedyWords), stopped: false };
  const text = error instanceof Error ? error.message : String(error);
  return {
    message: `Something went wrong inside Poleward: ${text}. Try again; if it persists, report it with the frames.`, stopped: false,
  };
}
