/** Functions of WebAssembly, and the memory that they work in. */
export type Wasm<Functions> = Functions & { readonly memory: WebAssembly.Memory };

const PAGE = 65536;

/**
 * A function that makes instances of WebAssembly whose memory comes from outside (`npm run kernel` makes such code), with at least so many
 * bytes of it; null where the engine can't run it or has no such memory. The code is compiled once. A memory made too small and grown later
 * would detach the arrays in it, after which the engine compiles every function that uses typed arrays anew.
 *
 * @param code base64
 * @param imports functions from outside, by the name of their module
 */
export function wasmMaker<Functions>(
  code: string, imports: Readonly<Record<string, Readonly<Record<string, (...numbers: number[]) => number>>>> = {},
): (bytes: number) => Wasm<Functions> | null {
  let compiled: WebAssembly.Module | null | undefined;
  return (bytes) => {
    if (compiled === undefined) compiled = compile(code);
    if (compiled === null) return null;
    try {
      const memory = new WebAssembly.Memory({ initial: Math.max(1, Math.ceil(bytes / PAGE)) });
      const { exports } = new WebAssembly.Instance(compiled, { ...imports, env: { memory } });
      return { ...exports as unknown as Functions, memory };
    } catch {
      // So much memory is not to be had.
      return null;
    }
  };
}

function compile(code: string): WebAssembly.Module | null {
  try {
    return new WebAssembly.Module(bytesOf(code));
  } catch {
    return null;
  }
}

/** A loop: `from` with a function takes three times as long before it is compiled. */
function bytesOf(base64: string): Uint8Array<ArrayBuffer> {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let k = 0; k < bytes.length; k++) bytes[k] = text.charCodeAt(k);
  return bytes;
}
