import { mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Command, CommanderError } from 'commander';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { addSimulateCommand } from '../../src/cli/simulate.js';
import { PolewardError } from '../../src/error.js';
import { readFrame } from '../../src/node/readFrame.js';
import { poleward } from './poleward.js';
import type { Out } from './watching.js';

let folder: string;
let said: string;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'poleward-simulate-'));
  said = '';
  vi.spyOn(process.stdout, 'write').mockImplementation((text) => {
    said += String(text);
    return true;
  });
});

afterEach(() => {
  vi.restoreAllMocks();
  rmSync(folder, { recursive: true });
});

async function simulate(...args: string[]): Promise<void> {
  const program = new Command().exitOverride().configureOutput({ writeErr: () => undefined });
  addSimulateCommand(program);
  program.commands.forEach((command) => command.exitOverride().configureOutput({ writeErr: () => undefined }));
  await program.parseAsync(['simulate', ...args], { from: 'user' });
}

const small = ['--size', '96x64'];

describe('poleward simulate', () => {
  it('writes a frame for each rotation and the truth beside them', async () => {
    const out = join(folder, 'new', 'night');
    await simulate('--out', out, ...small, '--rotations', '0,-30', '--latitude', '-36.9', '--longitude', '174.7',
      '--time', '2027-03-04 10:11:12.5', '--exposure', '3', '--interval', '60');
    expect(readdirSync(out).sort()).toEqual(['frame-1.fits', 'frame-2.fits', 'truth.json']);
    const { image, metadata } = await readFrame(join(out, 'frame-2.fits'));
    expect([image.width, image.height]).toEqual([96, 64]);
    expect(metadata.midExposure?.value.toISOString()).toBe('2027-03-04T10:12:14.000Z');
    expect(metadata.latitudeDeg?.value).toBe(-36.9);
    const truth = JSON.parse(readFileSync(join(out, 'truth.json'), 'utf8')) as Record<string, never>;
    expect(truth).toMatchObject({
      schema: 'poleward/simulation-1',
      axis: { altitudeDeg: 37.1, fromTruePole: { altitudeArcmin: 12, azimuthArcmin: -20 } },
      frames: [{ file: 'frame-1.fits', rotationDeg: 0 }, { file: 'frame-2.fits', rotationDeg: -30 }],
    });
    // East is below 180° in the south; 20′ west lies above.
    expect((truth as unknown as { axis: { azimuthDeg: number } }).axis.azimuthDeg).toBeCloseTo(180 + 20 / 60, 9);
  });

  it('says in words what error was put in and how to measure it', async () => {
    await simulate('--out', folder, ...small);
    expect(said).toContain('12.00′ too high, 20.00′ too far');
    expect(said).toContain('west');
    expect(said).toContain(
      `poleward measure ${join(folder, 'frame-1.fits')} ${join(folder, 'frame-2.fits')} ${join(folder, 'frame-3.fits')}`,
    );
  });

  it('says how to make one frame more, with a knob turned, and to look at it: these commands work as they are', () => {
    vi.restoreAllMocks();
    const practice = join(folder, 'a night');
    const made = poleward(
      'simulate', '--out', practice, '--latitude', '47.3', '--longitude=8.6', '--time', '2026-11-26T21:30:00', '--altitude-error', '3',
      '--size', '700x500', '--night', '--overwrite',
    );
    expect(made.status, made.err).toBe(0);
    const lines = made.out.replace(/\u001b\[[\d;]*m/g, '').split('\n').filter((line) => line.startsWith('  poleward '));
    const [measure, simulate, recheck] = lines.map((line) => [...line.matchAll(/"([^"]*)"|(\S+)/g)].slice(1).map(([, q, w]) => q ?? w!));
    expect(lines[1]).toContain('--latitude 47.3 --longitude=8.6');
    expect(lines[1]).not.toMatch(/2026-11-26T21:30:00|--night|--overwrite/);
    expect(poleward(...measure!, '--session', join(practice, 'poleward-session.jsonl')).status).toBe(0);
    expect(poleward(...simulate!).status).toBe(0);
    const { axis } = JSON.parse(poleward(...recheck!, '--json').out) as Out;
    expect(axis.fromTruePole.altitudeArcmin).toBeCloseTo(3, 1);
    expect(axis.fromTruePole.azimuthArcmin).toBeCloseTo(0, 1);
  });

  it('prints the truth as JSON when asked', async () => {
    await simulate('--out', folder, ...small, '--json');
    expect(JSON.parse(said)).toEqual(JSON.parse(readFileSync(join(folder, 'truth.json'), 'utf8')));
  });

  it('overwrites nothing unless told to', async () => {
    writeFileSync(join(folder, 'frame-2.fits'), 'mine');
    const refused = simulate('--out', folder, ...small);
    await expect(refused).rejects.toThrow(PolewardError);
    await expect(refused).rejects.toThrow(/frame-2\.fits exists already\. Give another folder, or --overwrite\./);
    expect(readdirSync(folder)).toEqual(['frame-2.fits']);
    expect(readFileSync(join(folder, 'frame-2.fits'), 'utf8')).toBe('mine');
    await simulate('--out', folder, ...small, '--overwrite');
    expect(readFileSync(join(folder, 'frame-2.fits')).length).toBeGreaterThan(2880);
  });

  it('says so when the folder is a file', async () => {
    writeFileSync(join(folder, 'file'), '');
    await expect(simulate('--out', join(folder, 'file'), ...small)).rejects.toThrow(/can't be made \(there is a file of that name\)/);
  });

  it('makes the same frames again from the same options', async () => {
    await simulate('--out', join(folder, 'a'), ...small, '--rotations', '10', '--seed', 'x');
    await simulate('--out', join(folder, 'b'), ...small, '--rotations', '10', '--seed', 'x');
    expect(readFileSync(join(folder, 'a', 'frame-1.fits')).equals(readFileSync(join(folder, 'b', 'frame-1.fits')))).toBe(true);
  });

  it.each([
    ['--time', '2026-02-30T20:00:00', /not a UTC date and time/],
    ['--time', '2026-11-25T20:00:00+01:00', /not a UTC date and time/],
    ['--rotations', '0,,70', /not a list of degrees/],
    ['--size', '800', /not from 32x32/],
    ['--latitude', '91', /not an angle from -90° to 90°/],
    ['--exposure', 'long', /not a number from 0.001 to 600/],
    ['--cloud', '1.5', /not a number from 0 to 1/],
  ])('refuses %s %s as wrong usage', async (option, value, message) => {
    const refused = simulate('--out', folder, option, value);
    await expect(refused).rejects.toThrow(CommanderError);
    await expect(refused).rejects.toThrow(message);
    expect(readdirSync(folder)).toEqual([]);
  });
});
