/** The order of the folders is lint's (.config/eslint.config.js); this holds that no files import each other in a circle. */
import { readFileSync, readdirSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';
import { expect, test } from 'vitest';

const src = fileURLToPath(new URL('../src/', import.meta.url));
/** For each file those that it imports, types and imports at run time included. */
function imports(): Map<string, string[]> {
  const files = readdirSync(src, { recursive: true, encoding: 'utf8' }).filter((name) => name.endsWith('.ts') && !name.endsWith('.d.ts'));
  return new Map(files.map((name) => {
    const { importedFiles } = ts.preProcessFile(readFileSync(join(src, name), 'utf8'), true, true);
    const ours = importedFiles.map(({ fileName }) => fileName).filter((to) => to.startsWith('.'));
    return [name, ours.map((to) => relative(src, resolve(src, dirname(name), to)).replace(/\.js$/, '.ts'))];
  }));
}

/** Files that can be reached from themselves. */
function inCircles(graph: ReadonlyMap<string, readonly string[]>): string[] {
  return [...graph.keys()].filter((start) => {
    const seen = new Set<string>();
    const waiting = [...graph.get(start)!];
    for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
      if (next === start) return true;
      if (seen.has(next)) continue;
      seen.add(next);
      waiting.push(...graph.get(next) ?? []);
    }
    return false;
  });
}

test('the check finds a circle of imports', () => {
  expect(inCircles(new Map([['a', ['b']], ['b', ['c']], ['c', ['b']], ['d', []]]))).toEqual(['b', 'c']);
});

test('no file imports itself, by way of others or not', () => {
  const graph = imports();
  expect(graph.size).toBeGreaterThan(250);
  expect([...graph.values()].flat().filter((to) => to.endsWith('.ts') && !graph.has(to))).toEqual([]);
  expect(inCircles(graph)).toEqual([]);
});
