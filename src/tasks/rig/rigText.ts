import { ARCMINUTE } from '../../geometry/angle.js';
import type { Sourced } from '../../frames/frame.js';
import type { AltitudeKnob, AzimuthKnob, KnobName, Rig } from '../../knobs/rig.js';
import { RIG_SCHEMA_NAME } from '../../knobs/rigSchema.js';
import { offsetWords } from '../../frames/clockDoubts.js';
import { travelPerTurn } from '../../knobs/travelPerTurn.js';
import { type RemedyWords, withRemedies } from '../../remedy.js';
import type { GivenValues } from '../given/given.js';
import { type RigInForce, shortSource } from '../given/rigInForce.js';
import { wrap } from '../words/numberWords.js';

const NAMES: readonly (readonly [Exclude<keyof GivenValues, 'near' | 'zoneName'>, string, (value: number) => string, string])[] = [
  ['latitudeDeg', 'latitude', (v) => `${Math.abs(v).toFixed(4)}° ${v < 0 ? 'S' : 'N'}`, 'frame header, else no altitude or azimuth'],
  ['longitudeDeg', 'longitude', (v) => `${Math.abs(v).toFixed(4)}° ${v < 0 ? 'W' : 'E'}`, 'frame header, else no altitude or azimuth'],
  ['elevationMetres', 'elevation', (v) => `${v} m`, 'frame header, else sea level'],
  ['utcOffsetMinutes', 'clock zone', offsetWords, 'frame header'],
  ['clockAheadSeconds', 'clock ahead', (v) => `${v} s`, 'taken as right'],
  ['focalLengthMillimetres', 'focal length', (v) => `${v} mm`, 'frame header, else from the stars'],
  ['pixelSizeMicrometres', 'pixel size', (v) => `${v} µm`, 'frame header, else from the stars'],
];

/**
 * The rig in force for a person: each value, its source, what is missing and what is used instead. 60 columns. `searched`: where a rig file
 * was looked for, in words.
 */
export function rigText(given: GivenValues, found: RigInForce | null, searched: string, words: RemedyWords): string {
  const head = found
    ? wrap(`${found.rig.name ? `${found.rig.name}: ` : ''}${found.path} (${found.from}), checked, in order`, 60, '  ')
    : wrap(withRemedies(`no rig file: ${searched}. Make one.`, ['make-rig'], words), 60, '  ');
  const lines = NAMES.map(([key, name, show, missing]) => {
    if (key === 'utcOffsetMinutes' && given.zoneName) return zoneLine(name, given.zoneName, found);
    const value: Sourced<number> | null = given[key];
    return value
      ? `${name.padEnd(13)}${show(value.value).padEnd(14)}${shortSource(value.from, found)}`
      : `${name.padEnd(13)}${'-'.padEnd(14)}${missing}`;
  }).map((line) => wrap2(line));
  const knobs = found ? (['azimuth', 'altitude'] as const).map((name) => wrap(knobText(name, found.rig.knobs?.[name]), 60, '  ')) : [];
  return [head, lines.join('\n'), found ? preparedText(found.rig) : '', knobs.join('\n')].filter((part) => part !== '').join('\n\n');
}

function zoneLine(name: string, { value, from }: Sourced<string>, found: RigInForce | null): string {
  return `${name.padEnd(13)}${value.padEnd(14)}${value.length > 13 ? ' ' : ''}${shortSource(from, found)}`;
}

/** What only `prepare` and the planning of a run use; empty where the file has none of it. */
function preparedText({ site, camera, mount }: Rig): string {
  const { apertureMillimetres: aperture, widthPixels: width, heightPixels: height, readNoiseElectrons: noise } = camera ?? {};
  const parts = [
    ...(aperture === undefined ? [] : [`aperture ${aperture} mm`]),
    ...(width === undefined || height === undefined ? [] : [`frames of ${width}x${height} pixels`]),
    ...(noise === undefined ? [] : [`read noise ${noise} e⁻`]),
    ...(site?.skyMagnitude === undefined ? [] : [`sky ${site.skyMagnitude} mag/″²`]),
    ...(mount?.payloadKilograms === undefined ? [] : [`payload ${mount.payloadKilograms} kg`]),
    ...(mount?.capacityKilograms === undefined ? [] : [`rated for ${mount.capacityKilograms} kg`]),
  ];
  return parts.length === 0 ? '' : wrap(`for planning: ${parts.join(', ')}`, 60, '  ');
}

/** Keeps the columns of a line and wraps what is too long. */
function wrap2(line: string): string {
  if (line.length <= 60) return line;
  const cut = line.lastIndexOf(' ', 60);
  return `${line.slice(0, cut)}\n${' '.repeat(27)}${line.slice(cut + 1)}`;
}

function knobText(name: KnobName, knob: AzimuthKnob & Omit<AltitudeKnob, 'clockwise'> | AltitudeKnob | undefined): string {
  if (!knob) return `${name} knob: nothing given; it is learned from your first turn`;
  const called = knob.name ? ` (${knob.name})` : '';
  const travel = travelPerTurn(knob);
  const screw = `, from ${knob.thread ?? `${knob.screwPitchMillimetres} mm pitch`} on a ${knob.leverArmMillimetres} mm arm`;
  const parts = [
    travel ? `${(travel.perTurn / ARCMINUTE).toFixed(1)}′ a turn${travel.from === 'arcminPerTurn' ? '' : screw}`
      : 'travel not given, to be learned',
    knob.clockwise === undefined ? 'direction not given, to be learned'
      : 'pushPull' in knob && knob.pushPull ? `tightening the ${knob.screw} screw moves the axis ${facing(knob.clockwise)}`
      : `clockwise ${knob.clockwise === 'raise' ? 'raises' : knob.clockwise === 'lower' ? 'lowers' : `goes ${facing(knob.clockwise)}`}`,
    ...(knob.backlashTurns === undefined ? [] : [`play ${knob.backlashTurns} turn`]),
  ];
  return `${name} knob${called}: ${parts.join('; ')}`;
}

function facing(way: string): string {
  return way === 'left' || way === 'right' ? `${way}, as you face the pole` : way;
}

/** The same for programs, `poleward/rig-in-force-1`. */
export function rigJson(values: GivenValues, found: RigInForce | null): Record<string, unknown> {
  const knob = (name: KnobName): Record<string, unknown> | null => {
    const given = found?.rig.knobs?.[name];
    const travel = travelPerTurn(given);
    return given
      ? { ...given, travelArcminPerTurn: travel && Math.round((travel.perTurn / ARCMINUTE) * 1e4) / 1e4, travelFrom: travel && travel.from }
      : null;
  };
  return {
    schema: 'poleward/rig-in-force-1',
    file: found && found.path,
    from: found && found.from,
    rigSchema: RIG_SCHEMA_NAME,
    values,
    knobs: { azimuth: knob('azimuth'), altitude: knob('altitude') },
  };
}
