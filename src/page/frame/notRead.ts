/** Replaces, in the page's bundle, the code for TIFF's rarer compressions: it is large, and they are not read here. */
export class ZSTDDecoder {
  constructor() {
    throw new Error('not read in a browser');
  }
}

export default {};
