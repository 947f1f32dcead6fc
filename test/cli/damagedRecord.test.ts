import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { poleward, scratchFolder, writeNight } from './poleward.js';

describe('a line of the record that can\'t be read', () => {
  const folder = scratchFolder();
  const session = join(folder, 'poleward-session.jsonl');
  let frames: string[] = [];

  beforeAll(() => {
    // Three turned frames; a knob raises the axis by 8′; two more frames after that.
    frames = writeNight(folder, {
      rotationsDeg: [0, 40, 80, 80, 80], altitudeErrorArcmin: 12, azimuthErrorArcmin: -20, tracking: true,
      shifts: [{ beforeFrame: 3, altitudeArcmin: 8, azimuthArcmin: 0 }],
    }, []);
    expect(poleward('measure', ...frames.slice(0, 3), '--session', session).status).toBe(0);
    expect(poleward('recheck', frames[3]!, '--session', session).status).toBe(0);
    const lines = readFileSync(session, 'utf8').split('\n');
    // One NUL in the newest look, as a disk that lost power leaves it.
    const look = lines.map((line) => line.includes('"kind":"look"')).lastIndexOf(true);
    const damaged = lines.map((line, i) => (i >= look && line !== '' ? line.replace('"at"', '"a\u0000"') : line));
    writeFileSync(session, damaged.join('\n'));
  }, 300_000);

  const squeezed = (text: string): string => text.replace(/\s+/g, ' ');

  test('is named by log, also with the report, and by budget', () => {
    expect(squeezed(poleward('log', '--session', session).err)).toMatch(/Line \d+ of the session is not JSON/);
    const report = poleward('log', '--session', session, '--report', join(folder, 'night.html'));
    expect(squeezed(report.err)).toMatch(/Line \d+ of the session is not JSON/);
    const budget = poleward('budget', '--session', session, '--declination', '30', '--hour-angle', '1', '--hours', '1', '--exposure', '60',
      '--focal-length', '500', '--pixel-size', '4', '--sensor', '1000x1000', '--guided', '--json');
    expect(budget.out).toMatch(/record-damaged/);
    expect(squeezed(budget.out)).toMatch(/The newest may be among them/);
  });

  test('is named by recheck, which does not fall back to what was measured before it', () => {
    const { status, out } = poleward('recheck', frames[4]!, '--session', session, '--json');
    expect(status).toBe(0);
    const found = JSON.parse(out) as {
      axis: { fromTruePole: { altitudeArcmin: number } }; warnings: { code: string }[]; doubts: unknown[];
    };
    expect(found.axis.fromTruePole.altitudeArcmin).toBeCloseTo(20, 1);
    expect(found.warnings.map(({ code }) => code)).toContain('record-damaged');
    // Something moved in the gap: what, is in doubt.
    expect(found.doubts.length).toBeGreaterThan(0);
  });
});
