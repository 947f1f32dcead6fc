/** Stands in the page's bundle for what unpacks the rarer compressions of TIFF: those are not read here, and their code is large. */
export class ZSTDDecoder {
  constructor() {
    throw new Error('not read in a browser');
  }
}

export default {};
