import { spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';

export interface Timed {
  readonly seconds: number;
  /** High-water mark of the resident set, MB; NaN where /proc does not tell it. */
  readonly peakMegabytes: number;
}

/** Runs a whole process, output thrown away, and times it from start to exit. */
export function timeProcess(command: string, words: readonly string[], folder: string): Promise<Timed> {
  return new Promise((resolve, reject) => {
    let peak = NaN;
    const begin = performance.now();
    const child = spawn(command, words, { cwd: folder, stdio: ['ignore', 'ignore', 'ignore'] });
    const watch = setInterval(() => {
      try {
        const match = /VmHWM:\s+(\d+) kB/.exec(readFileSync(`/proc/${child.pid}/status`, 'utf8'));
        if (match) peak = Math.max(Number.isNaN(peak) ? 0 : peak, Number(match[1]) / 1000);
      } catch {
        // Gone already, or no /proc.
      }
    }, 5);
    child.on('error', (error) => { clearInterval(watch); reject(error); });
    child.on('exit', (code) => {
      const seconds = (performance.now() - begin) / 1000;
      clearInterval(watch);
      if (code === 0) resolve({ seconds, peakMegabytes: peak });
      else reject(new Error(`${command} ${words.join(' ')} ended with ${code}`));
    });
  });
}

export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
