import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

const root = new URL('../../', import.meta.url);
const read = (path: string): string => readFileSync(new URL(path, root), 'utf8');

it('the licences of LibRaw and libvips are named and shipped with the program', () => {
  const { files } = JSON.parse(read('package.json')) as { files: string[] };
  expect(files).toContain('dist');
  const said = read('dist/node/licences/LICENSES.md');
  for (const name of ['LibRaw', 'libvips', 'libraw-wasm', 'sharp']) expect(said).toContain(name);
  // What it names stands beside it.
  for (const [, file] of said.matchAll(/`([\w.-]+\.txt)`/g)) expect(existsSync(new URL(`dist/node/licences/${file}`, root)), file)
    .toBe(true);
  expect(read('dist/node/licences/LGPL-2.1.txt')).toMatch(/GNU LESSER GENERAL PUBLIC LICENSE\s+Version 2\.1/);
  expect(read('dist/sky/catalogue/LICENSES.md')).toContain('Tycho-2');
});
it('every package that is installed with the program is listed with its licence', () => {
  interface Locked { readonly license?: string; readonly dev?: boolean; readonly devOptional?: boolean; readonly optional?: boolean }
  const { packages } = JSON.parse(read('package-lock.json')) as { packages: Record<string, Locked> };
  const installed = Object.entries(packages).filter(([path, p]) => path !== '' && !p.dev && !p.devOptional && !p.optional);
  expect(installed.length).toBeGreaterThan(10);
  const rows = read('dist/node/licences/LICENSES.md').split('\n');
  for (const [path, { license }] of installed) {
    const name = path.replace(/^.*node_modules\//, '');
    expect(rows.find((row) => row.startsWith('|') && row.includes(`\`${name}\``)), name).toContain(license);
  }
});
it('every package that is built into the page is listed with its licence', () => {
  const libraries = JSON.parse(read('dist/page/libraries.json')) as string[];
  expect(libraries.length).toBeGreaterThan(3);
  const said = read('dist/node/licences/LICENSES.md');
  const rows = said.slice(said.indexOf('## Built into'), said.indexOf('## Installed')).split('\n');
  for (const name of libraries) {
    const { license } = JSON.parse(read(`node_modules/${name}/package.json`)) as { license: string };
    expect(rows.find((row) => row.includes(`\`${name}\``)), name).toContain(license.replace(/^\((.*)\)$/, '$1'));
  }
});
it('what is built into the command line is installed with it, and so listed', () => {
  const built = JSON.parse(read('dist/packages.json')) as string[];
  expect(built).toContain('commander');
  const { dependencies } = JSON.parse(read('package.json')) as { dependencies: Record<string, string> };
  expect(Object.keys(dependencies)).toEqual(expect.arrayContaining(built));
});
it('copyright and terms of every package that is built in go with the program', () => {
  const notices = read('dist/node/licences/NOTICES.txt');
  const built = [...JSON.parse(read('dist/packages.json')) as string[], ...JSON.parse(read('dist/page/libraries.json')) as string[]];
  expect(built.length).toBeGreaterThan(10);
  for (const name of built) {
    const found = notices.split(/^## /m).find((part) => part.startsWith(`${name} `));
    expect(found, name).toMatch(/copyright|has no licence file|CC0|public domain/i);
  }
  // The page has those of its own packages.
  const page = read('dist/page/folder/licences.txt');
  for (const name of JSON.parse(read('dist/page/libraries.json')) as string[]) expect(page).toContain(`\n## ${name} `);
});
it('the licences listed are those that the packages name', () => {
  expect((JSON.parse(read('node_modules/sharp/package.json')) as { license: string }).license).toBe('Apache-2.0');
  const bundled = readdirSync(new URL('node_modules/@img/', root)).filter((name) => name.startsWith('sharp-libvips'));
  expect(bundled.length).toBeGreaterThan(0);
  for (const name of bundled) expect((JSON.parse(read(`node_modules/@img/${name}/package.json`)) as { license: string }).license)
    .toMatch(/^LGPL-3/);
});
