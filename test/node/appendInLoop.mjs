// Appends notes to a session until it is killed, and says each line on stdout once the append has returned.
// node appendInLoop.mjs SESSION NAME COUNT
import { writeSync } from 'node:fs';
import { appendToSession } from '../../dist/node/sessionFile.js';

const [path, name, count] = process.argv.slice(2);
const at = '2026-11-25T20:00:00.000Z';
const start = () => ({ schema: 'poleward/session-1', kind: 'start', at, version: 'test', site: null, hemisphere: 1 });
for (let i = 0; i < Number(count); i++) {
  const text = `${name} ${i} ${'x'.repeat((i * 97) % 3000)}`;
  const [recorded] = (await appendToSession(path, [{ kind: 'note', at, text }], start)).slice(-1);
  writeSync(1, `${JSON.stringify({ line: recorded.line, text })}\n`);
}
