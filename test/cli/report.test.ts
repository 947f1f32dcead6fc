import { copyFileSync, mkdirSync, readFileSync, renameSync, unlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { htmlErrors, wellFormed } from '../picture/markupTools.js';
import { skyFramePaths } from '../skies.js';
import { poleward, scratchFolder } from './poleward.js';

const folder = scratchFolder();
const session = join(folder, 'night.jsonl');
/**
 * A name that every file system takes (Windows has no < > " in names) and that would end an element or an attribute if it were not escaped.
 */
const RUDE = process.platform === 'win32' ? 'a&amp\'b' : 'a<script>alert(1)<\u2044script>&amp"\'b';
skyFramePaths('adjusting').forEach((path, i) => copyFileSync(path, join(folder, `${RUDE} ${i + 1}.fits`)));
const frame = (n: number): string => join(folder, `${RUDE} ${n}.fits`);
writeFileSync(join(folder, 'poleward.json'), JSON.stringify({
  name: '</title><b>rig</b>', site: { latitudeDeg: 39.2, longitudeDeg: -3.4, elevationMetres: 710 },
  knobs: {
    azimuth: { arcminPerTurn: 60, clockwise: 'east', name: '<i>bolt</i>' },
    altitude: { thread: 'M8', leverArmMillimetres: 100, clockwise: 'raise' },
  },
}));
const done = (...words: string[]): ReturnType<typeof poleward> => {
  const ran = poleward(...words);
  if (ran.status !== 0) throw new Error(ran.err);
  return ran;
};
done('measure', frame(1), frame(2), frame(3), '--session', session);
done('recheck', frame(4), '--turned', 'altitude=-0.27', '--session', session);
done('recheck', frame(5), '--turned', 'azimuth=+0.4', '--session', session);

function report(name: string, ...words: string[]): { html: string; said: string } {
  const path = join(folder, name);
  const said = done('log', '--session', session, '--report', path, '--rig', join(folder, 'poleward.json'), ...words).out.replace(
    /\s+/g, ' ',
  );
  return { html: readFileSync(path, 'utf8'), said };
}

describe('log --report', () => {
  test('is one page that an HTML and an XML parser read without complaint, and that refers to nothing outside', () => {
    const { html, said } = report('night.html');
    expect(said).toMatch(/5 looks, 3 pictures/);
    expect(htmlErrors(html)).toEqual([]);
    const document = wellFormed(html, 'application/xhtml+xml');
    expect(html).not.toMatch(/https?:/i);
    const references = Array.from(document.getElementsByTagName('*')).flatMap(
      (e) => ['href', 'src', 'srcset', 'data', 'action', 'xlink:href', 'poster'].flatMap((a) => e.getAttribute(a) ?? []),
    );
    expect(references).toHaveLength(3);
    expect(references.every((r) => r.startsWith('data:image/jpeg;base64,'))).toBe(true);
    expect(html).not.toMatch(/@import|url\(/);
    expect(['script', 'iframe', 'link', 'object', 'embed', 'b', 'i', 'base', 'form'].flatMap(
      (n) => Array.from(document.getElementsByTagName(n)),
    )).toEqual([]);
  });

  test('tells the story, the figures with their errors, and what was learned of the knobs', () => {
    const { html } = report('story.html');
    const text = wellFormed(html, 'application/xhtml+xml').documentElement!.textContent!;
    expect(text).toContain('26.26′ → 20.98′ → 5.95′ in 5 looks');
    expect(text).toContain('turned altitude 0.27 turn counter-clockwise');
    expect(text).toContain('+16.90′ ± 0.1″');
    expect(text).toMatch(/azimuth60\.0′ a turn, clockwise: east6\d′ ± \d+(\.\d)?′ east/);
    expect(text).toContain('</title><b>rig</b>');
    // Five points on the chart; a picture for each of the three answers.
    expect(html.match(/class="look"/g)!.length).toBe(5 + 3);
  });

  test('holds the budget of a planned run, and says what is missing of one told in part', () => {
    const plan = [
      '--declination', '40', '--hour-angle', '-2', '--hours', '4', '--exposure', '120', '--focal-length', '500', '--pixel-size', '3.8',
      '--sensor', '4000x3000',
    ];
    const { html } = report('budget.html', ...plan);
    // The same words as the command itself.
    const words = poleward('budget', '--session', session, '--rig', join(folder, 'poleward.json'), ...plan, '--full').out;
    expect(words).toMatch(/the limit: trail/);
    const text = wellFormed(html, 'application/xhtml+xml').documentElement!.textContent!;
    for (const line of words.split('\n').filter((l) => /the limit:|allowed:|guided/.test(l))) expect(text).toContain(line);
    const half = poleward('log', '--session', session, '--report', join(folder, 'half.html'), '--declination', '40');
    expect(half.status).toBe(1);
    expect(half.err).toMatch(/planned run is incomplete/);
  });

  test('draws the stars alone where a frame is gone or is another by now', () => {
    const [kept, other] = [join(folder, 'kept.fits'), join(folder, 'kept5.fits')];
    renameSync(frame(4), kept);
    renameSync(frame(5), other);
    copyFileSync(frame(1), frame(5));
    const { html, said } = report('gone.html');
    expect(said).toMatch(/3 pictures, 2 without the frame/);
    expect(html).toContain('The frame is not where it was');
    expect(html).toContain('is another picture now');
    expect(htmlErrors(html)).toEqual([]);
    unlinkSync(frame(5));
    renameSync(kept, frame(4));
    renameSync(other, frame(5));
  });

  test('finds the frames again when folder and session were moved together', () => {
    const moved = join(scratchFolder(), 'moved');
    mkdirSync(moved);
    for (let n = 1; n <= 5; n++) copyFileSync(frame(n), join(moved, `${RUDE} ${n}.fits`));
    copyFileSync(session, join(moved, 'night.jsonl'));
    const ran = done('log', '--session', join(moved, 'night.jsonl'), '--report', join(moved, 'r.html'));
    expect(ran.out.replace(/\s+/g, ' ')).toMatch(/5 looks, 3 pictures $/);
  });

  test('does without pictures in sessions of earlier versions, or with broken ones', () => {
    const old = join(folder, 'old.jsonl');
    const lines = readFileSync(session, 'utf8').trim().split('\n').map((line) => JSON.parse(line) as Record<string, unknown>);
    writeFileSync(
      old,
      lines.map(
        (l, i) =>
          JSON.stringify(
            i % 2 === 0
              ? { ...l, picture: { frame: 7, marks: { schema: 'poleward/marks-1', stars: 'none' } } }
              : { ...l, picture: undefined },
          ),
      ).join('\n') + '\n',
    );
    const ran = done('log', '--session', old, '--report', join(folder, 'old.html'));
    expect(ran.out.replace(/\s+/g, ' ')).toMatch(/5 looks, 0 pictures/);
    expect(htmlErrors(readFileSync(join(folder, 'old.html'), 'utf8'))).toEqual([]);
  });

  test('never replaces a file unless told to, and wants the ending of a page', () => {
    writeFileSync(join(folder, 'mine.html'), 'mine');
    const ran = poleward('log', '--session', session, '--report', join(folder, 'mine.html'));
    expect([ran.status, readFileSync(join(folder, 'mine.html'), 'utf8')]).toEqual([1, 'mine']);
    expect(poleward('log', '--session', session, '--report', join(folder, 'x.txt')).err).toMatch(/\.html/);
    expect(report('mine.html', '--overwrite').html).toContain('<!DOCTYPE html>');
  });
});
