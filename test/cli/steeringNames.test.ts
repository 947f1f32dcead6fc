import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { poleward, scratchFolder } from './poleward.js';

const NAME = 'a\u001b[2J\u202egpj.\u200bfits';

test('what steers a terminal in a name never reaches it, in words or as JSON', { skip: process.platform === 'win32' }, () => {
  const folder = scratchFolder();
  const file = join(folder, NAME);
  writeFileSync(file, 'no frame');
  const rig = join(folder, `${NAME}.json`);
  writeFileSync(rig, '{');
  const runs = [
    poleward('inspect', file), poleward('measure', file, file), poleward('measure', join(folder, `none${NAME}`), file),
    poleward('recheck', file),
    poleward('rig', '--rig', rig), poleward('log', '--session', join(folder, `${NAME}.jsonl`)), poleward('inspect', file, `--none${NAME}`),
    poleward('watch', join(folder, `none${NAME}`)), poleward('inspect', file, '--json'),
  ];
  for (const { status, out, err } of runs) {
    expect(status).not.toBe(0);
    expect(err).not.toBe('');
    expect(out + err).not.toMatch(/[\u001b\u202e\u200b]/);
  }
});
