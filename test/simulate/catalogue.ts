import { readFileSync } from 'node:fs';
import { parseCatalogue } from '../../src/sky/catalogue.js';

export const catalogue = parseCatalogue(readFileSync(new URL('../../src/sky/catalogue/stars.bin', import.meta.url)));
