import type { AssetName } from '../messages.js';

/** Parts packed in the page, which a worker asks for where it was started. */
export interface Packed {
  ask(name: AssetName): Promise<string>;
  came(name: AssetName, packed: string): void;
}

export function packedFrom(wanted: (name: AssetName) => void): Packed {
  const waiting: { readonly name: AssetName; readonly resolve: (packed: string) => void }[] = [];
  return {
    ask: (name) => new Promise((resolve) => {
      waiting.push({ name, resolve });
      wanted(name);
    }),
    came: (name, packed) => waiting.filter((who) => who.name === name).forEach(({ resolve }) => resolve(packed)),
  };
}
