import { execFile } from 'node:child_process';

/** How reading a file ended and what it took, in a process that has read nothing before. */
export interface ReadApart {
  /** "read", or the error's code and message. */
  readonly ending: string;
  /** Milliseconds of processor, starting left out: the machine may be busy. */
  readonly work: number;
  /** The most memory that the process had. */
  readonly bytes: number;
}

/** Reading that takes longer is ended. */
const MOST_MS = 60_000;

/**
 * Reads files one after another. Their memory counts from the first on, and on Linux from that of the process' parent when it was
 * started: hence a small process in between.
 */
const SCRIPT = `
  const { execFileSync } = await import('node:child_process');
  const [script, between, library, ...files] = process.argv.slice(1);
  if (between === 'between') {
    execFileSync(process.execPath, ['--input-type=module', '--eval', script, '--', script, 'read', library, ...files],
      { stdio: 'inherit', timeout: ${MOST_MS} });
  } else {
    const { readFrame } = await import(library);
    const said = [];
    for (const file of files) {
      const begun = process.cpuUsage();
      const ending = await readFrame(file).then(() => 'read', ({ code, message }) => code + ': ' + message);
      const { user, system } = process.cpuUsage(begun);
      said.push({ ending, work: (user + system) / 1000, bytes: process.resourceUsage().maxRSS * 1024 });
    }
    console.log(JSON.stringify(said));
  }
`;

/** Reads files by the built library, one after another, in a process of their own. Rejects where it ends, hangs or writes to stderr. */
export function readApart(...files: string[]): Promise<ReadApart[]> {
  const library = new URL('../../dist/index.js', import.meta.url).href;
  return new Promise((resolve, reject) => {
    execFile(process.execPath, ['--input-type=module', '--eval', SCRIPT, '--', SCRIPT, 'between', library, ...files], { encoding: 'utf8' },
      (error, stdout, stderr) => {
      if (error || stderr !== '') reject(error ?? new Error(stderr));
      else resolve(JSON.parse(stdout) as ReadApart[]);
    });
  });
}
