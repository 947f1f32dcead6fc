// `npm run kernel`: compiles src/stars/kernel/blockRows.assembly.ts with the AssemblyScript compiler of the version below, which npx
// fetches, and writes the bytes as a module. Only needed where the kernel is changed.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const VERSION = '0.28.20';
const folder = new URL('../src/stars/kernel/', import.meta.url);
const scratch = mkdtempSync(join(tmpdir(), 'poleward-kernel-'));
const out = join(scratch, 'kernel.wasm');
execFileSync('npx', [
  '--yes', '--package', `assemblyscript@${VERSION}`, 'asc', fileURLToPath(new URL('blockRows.assembly.ts', folder)),
  '-O3', '--noAssert',
  '--runtime', 'stub', '--enable', 'simd', '--use', 'abort=', '--initialMemory', '1', '-o', out,
], { stdio: 'inherit', shell: process.platform === 'win32' });
const lines = readFileSync(out).toString('base64').match(/.{1,120}/g).map((line) => `  '${line}',`);
const code = `// Made by \`npm run kernel\` from blockRows.assembly.ts (AssemblyScript ${VERSION}). Do not edit.

/** WebAssembly code, base64. */
export const BLOCK_ROWS_CODE = [
${lines.join('\n')}
].join('');
`;
writeFileSync(new URL('blockRowsCode.ts', folder), code);
rmSync(scratch, { recursive: true });
