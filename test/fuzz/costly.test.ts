/** Small files made to cost much, each read by the built library in a process of its own. */
import { afterAll, expect, it } from 'vitest';
import { COSTLY_FILES } from './costlyFiles.js';
import { LONGEST_MS, MOST_BYTES } from './limits.js';
import { readApart } from './readApart.js';
import { inputFolder } from './readers.js';

const folder = inputFolder();
afterAll(folder.remove);

it.each(COSTLY_FILES.map((file) => [file.name, file] as const))('%s costs little', async (_, { ending, make }) => {
  const bytes = await make();
  // Only a small file that costs much is of interest here.
  expect(bytes.length).toBeLessThan(30e6);
  const [said] = await readApart(folder.write('costly', bytes));
  if (ending === 'read') expect(said?.ending).toBe('read');
  else expect(said?.ending).toMatch(new RegExp(`^${ending}: \\S.+\\. [A-Z].+\\.$`));
  expect(said?.work).toBeLessThan(LONGEST_MS);
  expect(said?.bytes).toBeLessThan(MOST_BYTES / 2);
});
