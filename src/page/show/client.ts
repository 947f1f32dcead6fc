import type { AssetName, FromWorker, PageShown, ToWorker } from '../messages.js';
import type { Work } from '../work/work.js';

/** What the page hears from the worker, beside replies. */
export interface Ears {
  progress(what: string, done: number, of: number): void;
  changed(shown: PageShown): void;
  /** The worker has ended, or could not start. */
  lost(): void;
}

/** The worker could not do what was asked; the words are for the person. */
export class WorkFailed extends Error {
  constructor(message: string, readonly stopped: boolean) {
    super(message);
  }
}

export interface Client {
  ask<Name extends keyof Work>(name: Name, ...words: Parameters<Work[Name]>): ReturnType<Work[Name]>;
  stop(): void;
}

/** The page's end of the worker. */
export function clientOf(worker: Worker, packed: (name: AssetName) => Promise<string>, ears: Ears): Client {
  const waiting = new Map<number, { resolve(value: unknown): void; reject(error: Error): void }>();
  let number = 0;
  const tell = (message: ToWorker): void => worker.postMessage(message);
  worker.onmessage = ({ data }: MessageEvent<FromWorker>) => {
    switch (data.kind) {
      case 'progress': return ears.progress(data.what, data.done, data.of);
      case 'wanted': return void packed(data.name).then((text) => tell({ kind: 'asset', name: data.name, packed: text }));
      case 'changed': return ears.changed(data.shown);
      case 'done': waiting.get(data.number)?.resolve(data.result); break;
      case 'failed': waiting.get(data.number)?.reject(new WorkFailed(data.message, data.stopped)); break;
    }
    waiting.delete(data.number);
  };
  worker.onerror = () => {
    for (const { reject } of waiting.values()) reject(new WorkFailed('Part of this page has stopped. Load the page again.', false));
    waiting.clear();
    ears.lost();
  };
  return {
    ask: (name, ...words) => new Promise((resolve, reject) => {
      waiting.set(++number, { resolve: resolve as (value: unknown) => void, reject });
      tell({ kind: 'ask', number, name, words });
    }) as ReturnType<Work[typeof name]>,
    stop: () => tell({ kind: 'stop' }),
  };
}
