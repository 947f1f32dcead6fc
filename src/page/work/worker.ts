/** The page's workers: all that takes time is done in them, so that the page answers at any moment. One script, two tasks. */
import { FRAMES } from './framesApart.js';
import { serveFrames } from './framesWorker.js';
import { serveNight } from './nightWorker.js';

// The types at hand are those of a page.
const world = self as unknown;
if (self.name === FRAMES) serveFrames(world as Parameters<typeof serveFrames>[0]);
else serveNight(world as Parameters<typeof serveNight>[0]);
