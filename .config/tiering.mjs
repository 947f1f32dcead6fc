/**
 * When V8 compiles a function anew with all its might: nine times later than it would of itself. Most commands end before that pays, and
 * it took a quarter of the processors' time. Only for the V8 of Node 20, where it was measured; another may know no such flag.
 */
export const TIERING = { v8: '11.', flag: '--interrupt-budget=600000' };
