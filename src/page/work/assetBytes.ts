import { PolewardError } from '../../error.js';

/** A large part of the program: a file beside the page, or gzip as base64 within it. */
export async function assetBytes(form: 'folder' | 'single', asset: string): Promise<Uint8Array<ArrayBuffer>> {
  try {
    const packed = form === 'folder' ? (await fetched(asset)).body! : new Blob([fromBase64(asset)]).stream();
    const whole = form === 'folder' ? packed : packed.pipeThrough(new DecompressionStream('gzip'));
    return new Uint8Array(await new Response(whole).arrayBuffer());
  } catch {
    throw new PolewardError('catalogue-broken', 'A part of this page can\'t be had. Load the page again where there is a network.');
  }
}

async function fetched(address: string): Promise<Response> {
  const response = await fetch(address);
  if (!response.ok) throw new Error(`${response.status}`);
  return response;
}

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
  return bytes;
}
