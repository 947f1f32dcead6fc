import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';

/** The page as it is served. */
export interface PageFiles {
  /** With its style inside. */
  readonly html: string;
  /** `'sha256-…'`, the style's name in a content security policy. */
  readonly styleHash: string;
  /** By name: "main.js". */
  readonly scripts: ReadonlyMap<string, string>;
  /** A page with one sentence, as dark as the panel. */
  readonly plain: (sentence: string) => string;
}

const SCRIPTS = ['main.js', 'feed.js', 'show.js', 'element.js', 'knobFace.js', 'brightness.js', 'awake.js', 'sound.js', 'tone.js'];

/** Reads the page once, from beside this file; no part of a request is ever used as a file name. */
export function readPage(): PageFiles {
  const read = (name: string): string => readFileSync(new URL(`page/${name}`, import.meta.url), 'utf8');
  return pageFiles(read('panel.html'), `${read('parts.css')}${read('panel.css')}`, new Map(SCRIPTS.map((name) => [name, read(name)])));
}

export function pageFiles(html: string, style: string, scripts: ReadonlyMap<string, string>): PageFiles {
  const css = style.trim();
  const head = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<style>${css}</style>
<meta name="color-scheme" content="dark">
<meta name="theme-color" content="#000000">
<meta name="viewport" content="width=device-width, initial-scale=1, viewport-fit=cover">
<link rel="icon" href="data:,">
<title>Poleward</title>
`;
  return {
    html: `${head}${html}`,
    styleHash: `'sha256-${createHash('sha256').update(css).digest('base64')}'`,
    scripts,
    plain: (sentence) => `${head}</head>\n<body><main><p>${sentence}</p></main></body>\n</html>\n`,
  };
}
