import { readFileSync } from 'node:fs';
import { type Catalogue, parseCatalogue } from '../sky/catalogue.js';

let catalogue: Catalogue | undefined;

/** The star catalogue that ships with the program, read once. */
export function embeddedCatalogue(): Catalogue {
  catalogue ??= parseCatalogue(readFileSync(new URL('../sky/catalogue/stars.bin', import.meta.url)));
  return catalogue;
}
