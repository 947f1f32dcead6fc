import { defineConfig } from 'vitest/config';

export default defineConfig({
  root: new URL('..', import.meta.url).pathname,
  test: {
    globalSetup: '.config/scratch.ts',
    include: ['test/**/*.test.ts'],
    testTimeout: 300_000,
    maxWorkers: 2,
    // Files share modules, which are then loaded and compiled once; no test changes one.
    isolate: false,
  },
});
