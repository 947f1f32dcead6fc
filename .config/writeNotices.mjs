// Writes the licence texts of the packages that are built into the command line's one file and into the page: their licences ask that
// copyright and terms go with every copy.
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';

const root = new URL('..', import.meta.url);
const json = (path) => JSON.parse(readFileSync(new URL(path, root), 'utf8'));

const names = [...new Set([...json('dist/packages.json'), ...json('dist/page/libraries.json')])].sort();
const notices = names.map((name) => {
  const folder = new URL(`node_modules/${name}/`, root);
  const { version, license, author, homepage } = json(`node_modules/${name}/package.json`);
  const file = readdirSync(folder).find((entry) => /^licen[cs]e/i.test(entry));
  const by = typeof author === 'string' ? author : author?.name;
  const text = file ? readFileSync(new URL(file, folder), 'utf8').trim()
    : `${license}, by ${by ?? 'its contributors'}${homepage ? `, ${homepage}` : ''}. The package has no licence file.`;
  return `## ${name} ${version}\n\n${text}\n`;
});
const head = 'The packages that are built into poleward.cjs and the page.\n\n';
writeFileSync(new URL('dist/node/licences/NOTICES.txt', root), `${head}${notices.join('\n')}`);
