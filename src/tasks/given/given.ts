import type { Aim } from '../../axis/aim.js';
import { writtenZone } from '../../frames/dateText.js';
import type { DecodeFrameOptions } from '../../frames/decodeFrame.js';
import type { Sourced } from '../../frames/frame.js';
import type { Rig } from '../../knobs/rig.js';
import type { Near } from './placeHint.js';
import { type RigInForce, rigSource, shortSource } from './rigInForce.js';

/** Values for site, air, optics and clock, each with its source (an option, a field of a page). */
export type Said = { readonly [Name in keyof GivenValues]?: NonNullable<GivenValues[Name]> | undefined };

/** Values by person and rig file, each with its source; null where neither gives it. A frame's own header comes after both. */
export interface GivenValues {
  readonly latitudeDeg: Sourced<number> | null;
  /** East positive. */
  readonly longitudeDeg: Sourced<number> | null;
  readonly elevationMetres: Sourced<number> | null;
  /** Of the air at the site, not reduced to the sea. */
  readonly pressureHectopascal: Sourced<number> | null;
  readonly temperatureCelsius: Sourced<number> | null;
  /** East of UTC: the zone of the camera's clock, where a frame carries none. */
  readonly utcOffsetMinutes: Sourced<number> | null;
  /** The same by its name in the IANA time-zone database. Never both. */
  readonly zoneName: Sourced<string> | null;
  /** Seconds that the camera's clock is ahead: take them off every frame's time. */
  readonly clockAheadSeconds: Sourced<number> | null;
  readonly focalLengthMillimetres: Sourced<number> | null;
  readonly pixelSizeMicrometres: Sourced<number> | null;
  /** Where frames look. It speeds up the search; a wrong place does no harm. Absent: not given. */
  readonly near?: Sourced<Near> | null;
}

/** The values used for a task, the same on every front. */
export interface Given extends GivenValues {
  readonly rigFile: RigInForce | null;
  readonly aim: Aim;
}

/** An elevation belongs to its site: it is not used where the person gives a place farther away than this (degrees). */
const SAME_PLACE = 0.2;

/** The person's value is used before the rig file's. */
export function givenValues(said: Said, found: RigInForce | null): GivenValues {
  const { site, clock, camera } = found?.rig ?? {};
  const from = found ? rigSource(found) : '';
  const first = (value: Sourced<number> | undefined, inRig: number | undefined): Sourced<number> | null =>
    value ?? (inRig === undefined ? null : { value: inRig, from });
  const latitudeDeg = first(said.latitudeDeg, site?.latitudeDeg);
  const longitudeDeg = first(said.longitudeDeg, site?.longitudeDeg);
  const elsewhere = site !== undefined && latitudeDeg !== null && longitudeDeg !== null
    && isFar(latitudeDeg.value - site.latitudeDeg, longitudeDeg.value - site.longitudeDeg);
  return {
    latitudeDeg, longitudeDeg,
    elevationMetres: first(said.elevationMetres, elsewhere ? undefined : site?.elevationMetres),
    pressureHectopascal: said.pressureHectopascal ?? null,
    temperatureCelsius: said.temperatureCelsius ?? null,
    ...zoneInForce(said, clock, from),
    clockAheadSeconds: first(said.clockAheadSeconds, clock?.offsetSeconds),
    focalLengthMillimetres: first(said.focalLengthMillimetres, camera?.focalLengthMillimetres),
    pixelSizeMicrometres: first(said.pixelSizeMicrometres, camera?.pixelSizeMicrometres),
    ...(said.near ? { near: said.near } : {}),
  };
}

/** The person's zone, in either form, is used before the rig file's in either form. */
function zoneInForce(
  { utcOffsetMinutes, zoneName }: Said, clock: Rig['clock'], from: string,
): Pick<GivenValues, 'utcOffsetMinutes' | 'zoneName'> {
  if (utcOffsetMinutes) return { utcOffsetMinutes, zoneName: null };
  if (zoneName) return { utcOffsetMinutes: null, zoneName };
  const minutes = clock?.utcOffset === undefined ? null : writtenZone(clock.utcOffset);
  return {
    utcOffsetMinutes: minutes === null ? null : { value: minutes, from },
    zoneName: clock?.zone === undefined ? null : { value: clock.zone, from },
  };
}

/** How frames are read, by what is known of the camera's clock. */
export function clockZone(
  { utcOffsetMinutes, zoneName, rigFile }: Pick<Given, 'utcOffsetMinutes' | 'zoneName' | 'rigFile'>,
): DecodeFrameOptions {
  const said = utcOffsetMinutes ?? zoneName;
  return {
    ...(said ? { zoneFrom: shortSource(said.from, rigFile) } : {}),
    ...(utcOffsetMinutes ? { utcOffsetMinutes: utcOffsetMinutes.value } : {}), ...(zoneName ? { zoneName: zoneName.value } : {}),
  };
}

/** Whether places that differ by this many degrees are two places. */
function isFar(latitudeDeg: number, longitudeDeg: number): boolean {
  const half = Math.PI / 360;
  return Math.abs(latitudeDeg) > SAME_PLACE || Math.abs(Math.sin(longitudeDeg * half)) > Math.sin(SAME_PLACE * half);
}
