/** Sigmas against the truth of testdata/skies, whose renderer shares nothing with this code. */
import { describe, expect, test } from 'vitest';
import { skyFolders, skyFrameNames, skyTruth } from '../skies.js';
import { ours } from './againstOutside.js';
import { median, nearest } from './picture.js';

const deviations: { signalToNoise: number; z: number }[] = [];
let listed = 0;
let found = 0;
for (const folder of skyFolders) {
  const truth = skyTruth(folder);
  for (const file of skyFrameNames(folder)) {
    const frame = truth.frames.find((f) => f.file === file)!;
    for (const star of frame.stars) {
      // Two close catalogue stars are one spot of light; a star whose core the edge cuts is left out.
      if (frame.stars.some((o) => o !== star && Math.hypot(o.x - star.x, o.y - star.y) < 6)) continue;
      if (star.x < 2 || star.y < 2) continue;
      listed++;
      const s = nearest(ours(`${folder}/${file.replace('.fits', '')}`), star.x, star.y, 1.5);
      if (s === null) continue;
      found++;
      if (s.blended || s.saturated) continue;
      deviations.push({ signalToNoise: s.signalToNoise, z: (s.x - star.x) / s.sigma },
        { signalToNoise: s.signalToNoise, z: (s.y - star.y) / s.sigma });
    }
  }
}

describe('the catalogue stars of all frames', () => {
  test('nearly all are found', () => {
    expect(listed).toBeGreaterThan(1800);
    expect(found / listed).toBeGreaterThan(0.985);
  });

  // The middle of |deviation| / sigma is 0.6745 for a Gaussian. The few doubles that no catalogue separates, and that
  // are one spot of light, are the reason for the wider limit of the rms over those within four sigmas.
  test.each([[5, 30], [30, 100], [100, 300], [300, Infinity]])('signal to noise %d to %d: sigma is honest', (from, to) => {
    const z = deviations.filter((d) => d.signalToNoise >= from && d.signalToNoise < to).map((d) => Math.abs(d.z));
    expect(z.length).toBeGreaterThan(150);
    expect(median(z) / 0.6745).toBeGreaterThan(0.75);
    expect(median(z) / 0.6745).toBeLessThan(1.2);
    const within = z.filter((v) => v < 1).length / z.length;
    expect(within).toBeGreaterThan(0.6);
    expect(within).toBeLessThan(0.82);
    expect(z.filter((v) => v > 4).length / z.length).toBeLessThan(0.03);
  });
});
