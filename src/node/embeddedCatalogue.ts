import { readFileSync } from 'node:fs';
import { parseCatalogue } from '../sky/catalogue.js';
import { type SkyCatalogue, type StarCatalogue, openSkyCatalogue } from '../sky/catalogueSky.js';

let catalogue: StarCatalogue | undefined;

/** The star catalogue that ships with the program: the part near the poles is read once, the rest when it is first needed. */
export function embeddedCatalogue(): StarCatalogue {
  if (catalogue) return catalogue;
  const near = parseCatalogue(fileBytes('stars.bin'));
  let sky: SkyCatalogue | undefined;
  return (catalogue = { ...near, whole: () => (sky ??= openSkyCatalogue(fileBytes('sky.bin'), near)) });
}

function fileBytes(name: string): Uint8Array {
  return readFileSync(new URL(`../sky/catalogue/${name}`, import.meta.url));
}
