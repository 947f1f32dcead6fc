/** The page's workers do all that takes time, so that the page always responds. One script, two tasks. */
import { FRAMES } from './framesApart.js';
import { serveFrames } from './framesWorker.js';
import { serveNight } from './nightWorker.js';

// The types at hand are those of a page.
const world = self as unknown;
if (self.name === FRAMES) serveFrames(world as Parameters<typeof serveFrames>[0]);
else serveNight(world as Parameters<typeof serveNight>[0]);
