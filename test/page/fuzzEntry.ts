/** What the fuzz of the page runs in the browser: the page's own readers, on whatever bytes. */
import { PolewardError } from '../../src/error.js';
import { decodeFrame } from '../../src/frames/decodeFrame.js';
import { browserDecoders } from '../../src/page/frame/browserDecoders.js';
import { unsoundFrame, unsoundMessage } from '../fuzz/sound.js';

/** What came of one file. */
export interface ReadInPage {
  readonly kind: 'read' | 'refused';
  readonly trouble: string | null;
  readonly milliseconds: number;
}

const decoders = browserDecoders(async () => ({ about: null, picture: null }));

async function readOne(text: string): Promise<ReadInPage> {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const begun = performance.now();
  const over = (kind: ReadInPage['kind'], trouble: string | null): ReadInPage =>
    ({ kind, trouble, milliseconds: performance.now() - begun });
  try {
    return over('read', unsoundFrame(await decodeFrame(bytes, 'fuzz', decoders)));
  } catch (error) {
    if (error instanceof PolewardError) return over('refused', unsoundMessage(error.message));
    // As the page has it: a machine without the memory says so.
    return error instanceof RangeError ? over('refused', null) : over('refused', `${(error as Error).stack ?? String(error)}`);
  }
}

Object.assign(globalThis, {
  readAll: async (texts: readonly string[]): Promise<ReadInPage[]> => {
    const found: ReadInPage[] = [];
    for (const text of texts) found.push(await readOne(text));
    return found;
  },
});
