/** Writes the files made to cost much into the folder that is named. */
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { COSTLY_FILES } from './costlyFiles.js';

const folder = process.argv[2] as string;
for (const [index, { make }] of COSTLY_FILES.entries()) writeFileSync(join(folder, String(index).padStart(2, '0')), await make());
