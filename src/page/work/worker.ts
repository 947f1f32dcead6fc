/** The worker: all that takes time is done here, so that the page answers at any moment. */
import { PolewardError } from '../../error.js';
import { withRemedies } from '../../remedy.js';
import { type DecodeRaw, browserDecoders } from '../frame/browserDecoders.js';
import { decodeRawApart } from '../frame/decodeRawApart.js';
import { openDatabase } from '../keep/database.js';
import type { AssetName, FromWorker, ToWorker } from '../messages.js';
import { remedyWords } from '../remedyWords.js';
import { type Assets, assetsOf } from './assets.js';
import { NightWork } from './nightWork.js';
import { Rests, Stopped } from './rests.js';
import { starsFrom } from './stars.js';
import { type Work, workOn } from './work.js';

/** Of this program; put in when the page is built. */
declare const VERSION: string;

/** What of a worker's own world is used; the types at hand are those of a page. */
interface WorkerWorld {
  postMessage(says: FromWorker): void;
  onmessage: ((event: MessageEvent<ToWorker>) => void) | null;
}
const world = self as unknown as WorkerWorld;

/** Who waits for what the page holds. */
const waiting: { readonly name: AssetName; readonly resolve: (packed: string) => void }[] = [];
const assets = assetsOf((name) => new Promise((resolve) => {
  waiting.push({ name, resolve });
  world.postMessage({ kind: 'wanted', name });
}));
const rests = new Rests();
const others = new BroadcastChannel('poleward');
/** What is asked is done one after the other. */
let queue: Promise<unknown> = Promise.resolve();

const progress = (what: string, done: number, of: number): void => world.postMessage({ kind: 'progress', what, done, of });

const ready: Promise<{ readonly nights: NightWork; readonly work: Work }> = (async () => {
  const stars = starsFrom(assets, () => progress('stars of the whole sky', 0, 1));
  // Ready before the first frame comes.
  stars.near().catch(() => {});
  const means = {
    database: await openDatabase(), decoders: browserDecoders(rawDecoder(assets)), rests, version: VERSION, progress, stars,
    changed: () => others.postMessage('changed'),
  };
  const nights = new NightWork(means);
  await nights.begin();
  return { nights, work: workOn(nights, means) };
})();

/** Camera raw by LibRaw, which is loaded when a frame needs it. */
function rawDecoder({ bytes, address }: Assets): DecodeRaw {
  let wasm: Promise<Uint8Array> | null = null;
  return decodeRawApart(() => address('raw'), () => {
    wasm ??= bytes('libraw');
    wasm.catch(() => { wasm = null; });
    return wasm;
  });
}

others.onmessage = () => {
  queue = queue.then(async () => {
    world.postMessage({ kind: 'changed', shown: await (await ready).work.shown() });
  }).catch(() => {});
};

world.onmessage = ({ data }) => {
  if (data.kind === 'asset') waiting.filter(({ name }) => name === data.name).forEach(({ resolve }) => resolve(data.packed));
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

function saidOf(error: unknown): { message: string; stopped: boolean } {
  if (error instanceof Stopped) return { message: 'Stopped. What was answered before stands.', stopped: true };
  if (error instanceof PolewardError) return { message: withRemedies(error.message, error.remedies, remedyWords), stopped: false };
  const text = error instanceof Error ? error.message : String(error);
  return {
    message: `Something went wrong inside Poleward: ${text}. Try again; if it persists, report it with the frames.`, stopped: false,
  };
}
