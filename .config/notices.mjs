// Copyright and licence text of npm packages: their licences ask that these go with every copy.
import { readFileSync, readdirSync } from 'node:fs';

const root = new URL('..', import.meta.url);

/** One section for each package, `## NAME VERSION` above it. */
export function noticesOf(names) {
  return [...new Set(names)].sort().map((name) => {
    const folder = new URL(`node_modules/${name}/`, root);
    const { version, license, author, homepage } = JSON.parse(readFileSync(new URL('package.json', folder), 'utf8'));
    const file = readdirSync(folder).find((entry) => /^licen[cs]e/i.test(entry));
    const by = (typeof author === 'string' ? author : author?.name) ?? 'its contributors';
    const text = file ? readFileSync(new URL(file, folder), 'utf8').trim()
      : `${license}, by ${by}${homepage ? `, ${homepage}` : ''}. The package has no licence file.`;
    return `## ${name} ${version}\n\n${text}\n`;
  }).join('\n');
}
