// `npm run kernel`: compiles src/*/kernel/*.assembly.ts with the AssemblyScript compiler of the version below, which npx
// fetches, and writes the bytes as modules. Only needed where the kernel is changed.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Beside each `NAME.assembly.ts` goes `NAMECode.ts`. */
const KERNELS = ['stars/kernel/blockRows', 'stars/kernel/fit', 'stars/kernel/pixels', 'identify/kernel/likeQuads', 'axis/kernel/starPass'];
/** These get their memory from outside, of the size that they need (`numeric/wasm.ts`). */
const WITH_MEMORY = ['stars/kernel/fit', 'stars/kernel/pixels', 'axis/kernel/starPass'];
const VERSION = '0.28.20';
const folder = new URL('../src/', import.meta.url);
const scratch = mkdtempSync(join(tmpdir(), 'poleward-kernel-'));
for (const path of KERNELS) {
  const kernel = path.split('/').at(-1);
  const out = join(scratch, `${kernel}.wasm`);
  execFileSync('npx', [
    '--yes', '--package', `assemblyscript@${VERSION}`, 'asc', fileURLToPath(new URL(`${path}.assembly.ts`, folder)),
    '-O3', '--noAssert',
    '--runtime', 'stub', '--enable', 'simd', '--use', 'abort=', '--initialMemory', '1',
    ...(WITH_MEMORY.includes(path) ? ['--importMemory'] : []), '-o', out,
  ], { stdio: 'inherit', shell: process.platform === 'win32' });
  const lines = readFileSync(out).toString('base64').match(/.{1,120}/g).map((line) => `  '${line}',`);
  const name = `${kernel.replace(/[A-Z]/g, (letter) => `_${letter}`).toUpperCase()}_CODE`;
  const code = `// Made by \`npm run kernel\` from ${kernel}.assembly.ts (AssemblyScript ${VERSION}). Do not edit.

/** WebAssembly code, base64. */
export const ${name} = [
${lines.join('\n')}
].join('');
`;
  writeFileSync(new URL(`${path}Code.ts`, folder), code);
}
rmSync(scratch, { recursive: true });
