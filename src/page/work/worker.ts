/** The worker: all that takes time is done here, so that the page answers at any moment. */
import { PolewardError } from '../../error.js';
import { parseCatalogue } from '../../sky/catalogue.js';
import { withRemedies } from '../../remedy.js';
import { type DecodeRaw, browserDecoders } from '../frame/browserDecoders.js';
import { decodeRawApart } from '../frame/decodeRawApart.js';
import { openDatabase } from '../keep/database.js';
import type { Assets, FromWorker, ToWorker } from '../messages.js';
import { remedyWords } from '../remedyWords.js';
import { assetBytes } from './assetBytes.js';
import { NightWork } from './nightWork.js';
import { Rests, Stopped } from './rests.js';
import { type Work, workOn } from './work.js';

/** Of this program; put in when the page is built. */
declare const VERSION: string;

/** What of a worker's own world is used; the types at hand are those of a page. */
interface WorkerWorld {
  postMessage(says: FromWorker): void;
  onmessage: ((event: MessageEvent<ToWorker>) => void) | null;
}
const world = self as unknown as WorkerWorld;

let giveAssets: (assets: Assets) => void = () => {};
const assets = new Promise<Assets>((resolve) => { giveAssets = resolve; });
const rests = new Rests();
const others = new BroadcastChannel('poleward');
/** What is asked is done one after the other. */
let queue: Promise<unknown> = Promise.resolve();

const progress = (what: string, done: number, of: number): void => world.postMessage({ kind: 'progress', what, done, of });

const ready: Promise<{ readonly nights: NightWork; readonly work: Work }> = (async () => {
  const given = await assets;
  const database = await openDatabase();
  let catalogue: ReturnType<typeof load> | null = null;
  const load = async () => parseCatalogue(await assetBytes(given.form, given.stars));
  const means = {
    database, decoders: browserDecoders(rawDecoder(given)), rests, version: VERSION, progress,
    catalogue: () => {
      catalogue ??= load();
      // One that could not be had is asked for again.
      catalogue.catch(() => { catalogue = null; });
      return catalogue;
    },
    changed: () => others.postMessage('changed'),
  };
  const nights = new NightWork(means);
  await nights.begin();
  // Ready before the first frame comes.
  means.catalogue().catch(() => {});
  return { nights, work: workOn(nights, means) };
})();

/** Camera raw by LibRaw, which is loaded when a frame needs it. */
function rawDecoder({ form, libraw, raw }: Assets): DecodeRaw {
  let wasm: Promise<Uint8Array> | null = null;
  let address: string | null = null;
  return decodeRawApart(() => {
    address ??= form === 'folder' ? raw : URL.createObjectURL(new Blob([raw], { type: 'text/javascript' }));
    return address;
  }, () => {
    wasm ??= assetBytes(form, libraw);
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
  if (data.kind === 'assets') giveAssets(data.assets);
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
