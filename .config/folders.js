// The way through the code (DESIGN.md, section 2): each folder of src/ knows those before it and none after it.

/** Pure: no file system, clock, environment, terminal or flag. */
export const CORE = [
  'geometry', 'numeric', 'frames', 'stars', 'sky', 'identify', 'axis', 'knobs', 'run', 'picture', 'simulate', 'night', 'tasks',
];

/** Where it runs. */
export const PLACES = ['node', 'panel', 'page', 'cli'];

/** Packages that the core may not import, beside node's own modules: where it runs decides on these. */
export const OUTSIDE = ['sharp', 'commander', 'hono', '@hono', 'libraw-wasm', 'uqr', 'geotiff', 'fast-png', 'fflate'];
