import { PolewardError } from '../../error.js';
import type { DecodeFrameOptions } from '../../frames/decodeFrame.js';
import { printable } from '../../printable.js';
import { type FrameResult, type FrameTrouble, troubleOf } from '../../tasks/recognise/frameStars.js';
import type { ShapedFrame } from '../../tasks/verify/shapedFrame.js';
import type { AssetName } from '../messages.js';
import type { Rests } from './rests.js';

/** What is looked for in a frame: its stars, or their shapes too. */
export interface Looked {
  readonly stars: FrameResult;
  readonly shapes: ShapedFrame | FrameTrouble;
}

/** What the worker of frames is told, and what it says. */
export type ToFrames =
  | { readonly kind: 'look'; readonly what: keyof Looked; readonly file: File; readonly zone: DecodeFrameOptions }
  | { readonly kind: 'asset'; readonly name: AssetName; readonly packed: string };

export type FromFrames =
  | { readonly kind: 'looked'; readonly result: Looked[keyof Looked] }
  | { readonly kind: 'failed'; readonly message: string }
  | { readonly kind: 'wanted'; readonly name: AssetName };

/** The name of a worker that reads frames. */
export const FRAMES = 'frames';

/** Reads frames in a worker of their own, so that it can be stopped in the middle of one by ending the worker. */
export class FramesApart {
  private worker: Promise<Worker> | null = null;

  /**
   * @param address of the worker's script; in the single file no worker can start another from its own address
   * @param packed gives a part that is packed in the page
   */
  constructor(
    private readonly rests: Rests, private readonly address: () => Promise<string>,
    private readonly packed: (name: AssetName) => Promise<string>,
  ) {}

  /** Starts the worker before the first frame. */
  ready(): Promise<Worker> {
    this.worker ??= this.address().then((address) => new Worker(address, { name: FRAMES }));
    return this.worker;
  }

  /** What a file's frame shows, or why it shows nothing. Throws Stopped. */
  async look<What extends keyof Looked>(what: What, file: File, zone: DecodeFrameOptions): Promise<Looked[What]> {
    const worker = await this.ready();
    const tell = (message: ToFrames): void => worker.postMessage(message);
    const looked = new Promise<Looked[What]>((resolve, reject) => {
      worker.onmessage = ({ data: says }: MessageEvent<FromFrames>) => {
        if (says.kind === 'wanted') {
          this.packed(says.name).then((packed) => tell({ kind: 'asset', name: says.name, packed }), reject);
        } else if (says.kind === 'looked') resolve(says.result as Looked[What]);
        else reject(new Error(says.message));
      };
      worker.onerror = (event) => {
        event.preventDefault();
        this.end(worker);
        resolve(troubleOf(file.name, new PolewardError('too-large', `${printable(file.name)} was too large for this browser. Close other `
          + 'tabs, or give smaller frames.')) as Looked[What]);
      };
    });
    tell({ kind: 'look', what, file, zone });
    return this.rests.elsewhere(looked, () => this.end(worker));
  }

  private end(worker: Worker): void {
    worker.terminate();
    this.worker = null;
  }
}
