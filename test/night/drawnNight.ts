/**
 * Invented nights at a mount, as poses: a person who turns knobs by what the program said, slews, bumps into things. Knows the truth of
 * each look. Nothing here comes from the program but geometry.
 */
import { axisBasis } from '../../src/axis/axisBasis.js';
import { axisWithError } from '../../src/axis/axisError.js';
import { ARCMINUTE, ARCSECOND, DEGREE } from '../../src/geometry/angle.js';
import { type Rotation, apply, compose, fromRotationVector, inverse, rotationAbout } from '../../src/geometry/rotation.js';
import { type Vector, add, cross, dot, scale, subtract, unit } from '../../src/geometry/vector.js';
import type { PoseLook } from '../../src/night/poseLook.js';
import type { Hemisphere } from '../../src/sky/localSky.js';
import { generator } from '../axis/sightings.js';

/** What was done to the mount before a look. */
export interface Deed {
  readonly knobs: readonly ('azimuth' | 'altitude')[];
  readonly slewed: boolean;
  /** The declination or the camera moved. */
  readonly bumped: boolean;
  /** The tripod sank. */
  readonly sank: boolean;
}

export interface DrawnLook {
  readonly look: PoseLook;
  readonly axis: Vector;
  readonly deed: Deed;
  /** Two looks of this camera's place on the mount, with no knob between them, are turned by some degrees: the axis can be known. */
  readonly answerable: boolean;
}

export interface DrawnNight {
  readonly hemisphere: Hemisphere;
  /** Refracted pole. */
  readonly pole: Vector;
  readonly looks: readonly DrawnLook[];
}

const SIDEREAL = (2 * Math.PI) / 86164.0905;
const ENOUGH_TURN = 5 * DEGREE;

/** What the person does by what was said last: the axis as answered, null without an answer. */
export type Answered = (looks: readonly PoseLook[]) => Vector | null;

/**
 * Draws a night. `answered` is asked after each look, so that the person can follow the advice.
 */
export function drawNight(seed: number, setting: (hemisphere: Hemisphere, pole: Vector) => Answered): DrawnNight {
  const { uniform, normal } = generator(seed * 7919 + 13);
  const between = (a: number, b: number): number => a + (b - a) * uniform();
  const sign = (): number => (uniform() < 0.5 ? -1 : 1);
  const logBetween = (a: number, b: number): number => a * (b / a) ** uniform();

  const hemisphere: Hemisphere = uniform() < 0.5 ? 1 : -1;
  const poleAltitude = between(10, 70) * DEGREE;
  const pole: Vector = [0, hemisphere * Math.cos(poleAltitude), Math.sin(poleAltitude)];
  const answered = setting(hemisphere, pole);

  // A base that stands level to a degree or so.
  const plumb = unit([between(-1, 1) * 1.2 * DEGREE, between(-1, 1) * 1.2 * DEGREE, 1]);
  let axis = axisWithError(pole, normal() * 25 * ARCMINUTE, normal() * 35 * ARCMINUTE);
  // The camera looks some degrees beside the axis at most, and is rolled anyhow.
  let mounted = lookNear(axis, logBetween(0.05, 3) * DEGREE, 2 * Math.PI * uniform(), 2 * Math.PI * uniform());
  const pointing = logBetween(0.1, 1.5) * ARCSECOND;
  const roll = pointing * logBetween(10, 150);
  const spread = [pointing ** 2, 0, 0, 0, pointing ** 2, 0, 0, 0, roll ** 2];
  const driving = { on: uniform() < 0.6 };

  const looks: DrawnLook[] = [];
  let time = Date.UTC(2026, 10, 25, 19);
  let bodies: { pose: Rotation; stance: number; mounting: number }[] = [];
  let stance = 0, mounting = 0;
  const count = 6 + Math.floor(14 * uniform());
  let said: Vector | null = null;

  const turnKnob = (knob: 'azimuth' | 'altitude', arc: number): void => {
    // Azimuth turns about the base's plumb line, east positive; altitude about what lies level at right angles to the axis.
    const r = knob === 'azimuth' ? rotationAbout(plumb, -hemisphere * arc) : rotationAbout(unit(cross(axis, plumb)), arc);
    axis = unit(apply(r, axis));
    mounted = compose(r, mounted);
    stance++;
  };
  const rotate = (angle: number): void => { mounted = compose(rotationAbout(axis, angle), mounted); };
  const bump = (size: number): void => {
    // The declination axis stands at right angles to the right-ascension axis, anywhere about it.
    const [up, side] = axisBasis(axis);
    const about = 2 * Math.PI * uniform();
    mounted = compose(fromRotationVector(scale(add(scale(up, Math.cos(about)), scale(side, Math.sin(about))), size)), mounted);
    mounting++;
  };
  const slew = (): void => rotate(sign() * between(8, 60) * DEGREE);

  for (let n = 0; looks.length < count && n < 60; n++) {
    const passed = logBetween(15, 240);
    time += passed * 1000;
    if (uniform() < 0.05) driving.on = !driving.on;
    if (driving.on) rotate(-hemisphere * SIDEREAL * passed);
    const deed = { knobs: [] as ('azimuth' | 'altitude')[], slewed: false, bumped: false, sank: false };
    if (n > 0) act();
    // A cloud: no look, and what was done adds to what is done before the next.
    if (uniform() < 0.04 && looks.length > 0) { pending = merge(pending, deed); continue; }
    const noise: Vector = [normal() * pointing, normal() * pointing, normal() * roll];
    const look: PoseLook = { time, pose: compose(mounted, fromRotationVector(noise)), spread };
    bodies = [...bodies, { pose: mounted, stance, mounting }];
    looks.push({ look, axis, deed: merge(pending, deed), answerable: canAnswer() });
    pending = null;
    said = answered(looks.map((l) => l.look));

    function act(): void {
      const dice = uniform();
      if (!said) {
        if (dice < 0.9) { slew(); deed.slewed = true; }
        else if (dice < 0.94) free(1);
        else if (dice < 0.95) { bump(logBetween(0.3, 60) * ARCMINUTE); deed.bumped = true; slew(); deed.slewed = true; }
        return;
      }
      if (dice < 0.42) { follow([largest()]); if (uniform() < 0.12) { slew(); deed.slewed = true; } }
      else if (dice < 0.5) { follow(['azimuth', 'altitude']); if (uniform() < 0.25) { slew(); deed.slewed = true; } }
      else if (dice < 0.54) free(1);
      else if (dice < 0.56) free(2);
      else if (dice < 0.82) { slew(); deed.slewed = true; }
      else if (dice < 0.945) { /* Another frame, nothing done. */ }
      else if (dice < 0.965) { bump(logBetween(0.3, 60) * ARCMINUTE); deed.bumped = true; }
      else if (dice < 0.975) { bump(logBetween(0.3, 60) * ARCMINUTE); deed.bumped = true; slew(); deed.slewed = true; }
      else if (dice < 0.98) { bump(logBetween(0.3, 60) * ARCMINUTE); deed.bumped = true; follow([largest()]); }
      else if (dice < 0.99) { sink(logBetween(0.2, 5) * ARCMINUTE); deed.sank = true; }
      else { bump(between(5, 60) * DEGREE); deed.bumped = true; slew(); deed.slewed = true; }
    }
    function errors(): { azimuth: number; altitude: number } {
      const [up, side] = axisBasis(said!);
      const off = subtract(pole, said!);
      return { altitude: dot(off, up), azimuth: hemisphere * dot(off, side) / Math.max(0.1, Math.cos(Math.asin(said![2]))) };
    }
    function largest(): 'azimuth' | 'altitude' {
      const { azimuth, altitude } = errors();
      // Azimuth first, as advised, unless it is right already.
      return Math.abs(azimuth) > Math.max(1 * ARCMINUTE, 0.3 * Math.abs(altitude)) ? 'azimuth' : 'altitude';
    }
    function follow(knobs: readonly ('azimuth' | 'altitude')[]): void {
      const goal = errors();
      for (const knob of knobs) {
        turnKnob(knob, goal[knob] * Math.exp(0.3 * normal()) + normal() * 0.15 * ARCMINUTE);
        deed.knobs.push(knob);
      }
    }
    function free(knobs: 1 | 2): void {
      const which = knobs === 2 ? ['azimuth', 'altitude'] as const : uniform() < 0.5 ? ['azimuth'] as const : ['altitude'] as const;
      for (const knob of which) { turnKnob(knob, sign() * logBetween(0.5, 60) * ARCMINUTE); deed.knobs.push(knob); }
    }
    function sink(size: number): void {
      const [up, side] = axisBasis(axis);
      const about = 2 * Math.PI * uniform();
      const r = fromRotationVector(scale(add(scale(up, Math.cos(about)), scale(side, Math.sin(about))), size));
      axis = unit(apply(r, axis));
      mounted = compose(r, mounted);
      stance++;
    }
  }
  return { hemisphere, pole, looks };

  function canAnswer(): boolean {
    const mine = bodies.filter((b) => b.mounting === mounting);
    return mine.some((a, i) => mine.slice(i + 1).some((b) => a.stance === b.stance && turnOf(a.pose, b.pose) > ENOUGH_TURN));
  }
}

let pending: Deed | null = null;

function merge(a: Deed | null, b: Deed): Deed {
  return a ? { knobs: [...a.knobs, ...b.knobs], slewed: a.slewed || b.slewed, bumped: a.bumped || b.bumped, sank: a.sank || b.sank } : b;
}

function turnOf(a: Rotation, b: Rotation): number {
  const r = compose(b, inverse(a));
  return Math.acos(Math.max(-1, Math.min(1, (r[0] + r[4] + r[8] - 1) / 2)));
}

/** A camera that looks so far beside a direction, toward `where` about it, rolled by `roll`. */
function lookNear(axis: Vector, beside: number, where: number, roll: number): Rotation {
  const [up, side] = axisBasis(axis);
  const forward = unit(add(axis, scale(add(scale(up, Math.cos(where)), scale(side, Math.sin(where))), Math.tan(beside))));
  const right = unit(cross(forward, [0.2, 0.5, 0.9]));
  const down = cross(forward, right);
  return compose(
    rotationAbout(forward, roll), [right[0], down[0], forward[0], right[1], down[1], forward[1], right[2], down[2], forward[2]],
  );
}

