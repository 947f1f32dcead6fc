import { PolewardError } from '../../error.js';
import type { AssetName, PageForm } from '../messages.js';

/** Which of the two forms this page was built as. */
declare const FORM: PageForm;

/** The program's large parts as the worker has them: files beside it, or packed in the page, which gives them when they are asked for. */
export interface Assets {
  bytes(name: AssetName): Promise<Uint8Array<ArrayBuffer>>;
  /** Where a worker's script can be had. */
  address(name: AssetName): Promise<string>;
}

const FILES: Readonly<Record<AssetName, string>> = {
  stars: 'stars.bin', sky: 'sky.bin', libraw: 'libraw.wasm', raw: 'raw.js', worker: 'worker.js',
};

/** @param packed asks the page for what is packed in it: a script's text, or gzip as base64 */
export function assetsOf(packed: (name: AssetName) => Promise<string>): Assets {
  const beside = (name: AssetName): string => new URL(FILES[name], self.location.href).href;
  const scripts = new Map<AssetName, Promise<string>>();
  return {
    bytes: async (name) => {
      try {
        const whole = FORM === 'folder' ? (await fetched(beside(name))).body! : unpacked(await packed(name));
        return new Uint8Array(await new Response(whole).arrayBuffer());
      } catch {
        throw new PolewardError('catalogue-broken', 'A part of this page can\'t be loaded. Load the page again with a network.');
      }
    },
    address: async (name) => {
      if (FORM === 'folder') return beside(name);
      const made = scripts.get(name) ?? packed(name).then((text) => URL.createObjectURL(new Blob([text], { type: 'text/javascript' })));
      scripts.set(name, made);
      return made;
    },
  };
}

async function fetched(address: string): Promise<Response> {
  const response = await fetch(address);
  if (!response.ok) throw new Error(`${response.status}`);
  return response;
}

function unpacked(text: string): ReadableStream<Uint8Array<ArrayBuffer>> {
  return new Blob([fromBase64(text)]).stream().pipeThrough(new DecompressionStream('gzip'));
}

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
  return bytes;
}
