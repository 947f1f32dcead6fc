// Loaded before the command line by a test: tells it once that long work is at a place where it lets others on.
const immediately = globalThis.setImmediate;
let told = false;
globalThis.setImmediate = Object.assign((...words) => {
  if (!told && /breathe|withRests|inSteps/.test(new Error().stack)) {
    told = true;
    process.send?.('searching');
  }
  return immediately(...words);
}, immediately);
