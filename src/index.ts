/**
 * Poleward as a library where there are files: all of `poleward/core`, and what reads frames and the star catalogue from disk.
 */
export * from './core.js';
export { readFrame, type ReadFrameOptions } from './node/readFrame.js';
export { embeddedCatalogue } from './node/embeddedCatalogue.js';
export type { DecodeFrameOptions } from './frames/decodeFrame.js';
