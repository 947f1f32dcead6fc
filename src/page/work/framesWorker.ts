import { shapedFrame } from '../../tasks/verify/shapedFrame.js';
import { starsOfFrame } from '../../tasks/recognise/frameStars.js';
import { browserDecoders } from '../frame/browserDecoders.js';
import { assetsOf } from './assets.js';
import type { FromFrames, ToFrames } from './framesApart.js';
import { packedFrom } from './packedFrom.js';
import { rawDecoder } from './rawDecoder.js';
import { resultOfFile } from './readFile.js';

/** What of a worker's own world is used; the types at hand are those of a page. */
interface FramesWorld {
  postMessage(says: FromFrames): void;
  onmessage: ((event: MessageEvent<ToFrames>) => void) | null;
}

/** Reads one frame after the other: see {@link FramesApart}. */
export function serveFrames(world: FramesWorld): void {
  const packed = packedFrom((name) => world.postMessage({ kind: 'wanted', name }));
  const decoders = browserDecoders(rawDecoder(assetsOf(packed.ask)));
  world.onmessage = ({ data }) => {
    if (data.kind === 'asset') return packed.came(data.name, data.packed);
    const { file, zone, what } = data;
    const looked = resultOfFile(file, decoders, zone, (frame) => (what === 'stars' ? starsOfFrame(frame) : shapedFrame(frame)));
    looked.then((result) => world.postMessage({ kind: 'looked', result }), (error: unknown) => {
      world.postMessage({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
    });
  };
}
