import { spawn } from 'node:child_process';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';

/** Runs `script PART PARTS ...rest` beside this file in as many processes as there are processors; the JSON lines they write. */
export async function runParts<Row>(script: string, rest: readonly string[]): Promise<Row[]> {
  const parts = availableParallelism();
  return (await Promise.all(Array.from(
    { length: parts }, (_, part) => runPart<Row>(script, [String(part), String(parts), ...rest]),
  ))).flat();
}

function runPart<Row>(script: string, args: readonly string[]): Promise<Row[]> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, ['--import', 'tsx', fileURLToPath(new URL(script, import.meta.url)), ...args], {
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    let text = '';
    child.stdout.setEncoding('utf8').on('data', (chunk: string) => { text += chunk; });
    child.on('error', reject);
    child.on('exit', (code) => (code === 0
      ? resolve(text.split('\n').filter((row) => row !== '').map((row) => JSON.parse(row) as Row))
      : reject(new Error(`${script} ${args.join(' ')} ended with ${code}`))));
  });
}
