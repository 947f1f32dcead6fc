import { THREAD_PATTERN } from './threads.js';

/** The part of JSON Schema 2020-12 that the rig file needs; `checkSchema` understands these words and no others. */
export interface Schema {
  readonly type: 'object' | 'number' | 'string' | 'boolean';
  /** What to write there, for people: completes "expected …". */
  readonly description: string;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  /** What fields of other names must be; false: none are allowed. */
  readonly additionalProperties?: false | Schema;
  readonly dependentRequired?: Readonly<Record<string, readonly string[]>>;
  /** Fields that exclude each other, pair by pair. */
  readonly allOf?: readonly { readonly not: { readonly required: readonly [string, string] } }[];
  readonly minimum?: number;
  readonly maximum?: number;
  readonly exclusiveMinimum?: number;
  readonly enum?: readonly string[];
  readonly const?: string | boolean;
  readonly pattern?: string;
  readonly minLength?: number;
  readonly maxLength?: number;
}

export const RIG_SCHEMA_NAME = 'poleward/rig-1';

const travel: Readonly<Record<string, Schema>> = {
  arcminPerTurn: {
    type: 'number', minimum: 0.01, maximum: 600,
    description: 'how far one turn moves the axis, in arcminutes, 0.01 to 600; of azimuth the turn about the vertical',
  },
  screwPitchMillimetres: {
    type: 'number', minimum: 0.001, maximum: 20,
    description: 'how far the screw goes in with one turn, in millimetres, 0.001 to 20',
  },
  thread: {
    type: 'string', pattern: THREAD_PATTERN,
    description: 'the screw\'s ISO metric thread instead of its pitch, such as "M8" (coarse) or "M8x1"',
  },
  leverArmMillimetres: {
    type: 'number', minimum: 1, maximum: 2000,
    description: 'from the pivot to where the screw pushes, in millimetres, 1 to 2000',
  },
  name: {
    type: 'string', minLength: 1, maxLength: 40,
    description: 'what you call the knob or where it sits, 1 to 40 letters',
  },
  smallestTurn: {
    type: 'number', exclusiveMinimum: 0, maximum: 1,
    description: 'the smallest part of a turn that your hand can set, above 0 to 1, such as 0.02',
  },
  backlashTurns: {
    type: 'number', minimum: 0, maximum: 3,
    description: 'the play of the knob: turns lost on reversing, 0 to 3',
  },
};

const travelRules = {
  additionalProperties: false,
  dependentRequired: {
    screwPitchMillimetres: ['leverArmMillimetres'],
    thread: ['leverArmMillimetres'],
  },
  allOf: [
    { not: { required: ['arcminPerTurn', 'screwPitchMillimetres'] } },
    { not: { required: ['arcminPerTurn', 'thread'] } },
    { not: { required: ['screwPitchMillimetres', 'thread'] } },
  ],
} as const;

const SITE: Schema = {
  type: 'object', additionalProperties: false, required: ['latitudeDeg', 'longitudeDeg'],
  description: 'an object with latitudeDeg, longitudeDeg and, if known, elevationMetres',
  properties: {
    latitudeDeg: { type: 'number', minimum: -90, maximum: 90, description: 'degrees from -90 to 90, north positive' },
    longitudeDeg: { type: 'number', minimum: -180, maximum: 360, description: 'degrees from -180 to 360, east positive' },
    elevationMetres: { type: 'number', minimum: -500, maximum: 9000, description: 'metres above the sea, -500 to 9000' },
    skyMagnitude: {
      type: 'number', minimum: 15, maximum: 23,
      description: 'brightness of the sky, magnitudes to the square arcsecond, 15 to 23: 21.5 dark, 20 suburb, 18 city',
    },
  },
};

/** The rig file as JSON Schema 2020-12. Also the table by which `parseRig` checks. */
export const RIG_SCHEMA: Schema & { readonly $schema: string; readonly $id: string; readonly title: string } = {
  $schema: 'https://json-schema.org/draft/2020-12/schema',
  $id: RIG_SCHEMA_NAME,
  title: 'Poleward rig: site, clock, camera, mount and knobs. All of it is optional.',
  type: 'object',
  description: 'an object with any of site, sites, clock, camera, mount, knobs, limitArcmin, plannedRun',
  additionalProperties: false,
  properties: {
    $schema: { type: 'string', description: 'where an editor finds this schema' },
    schema: { type: 'string', const: RIG_SCHEMA_NAME, description: `"${RIG_SCHEMA_NAME}"` },
    name: { type: 'string', minLength: 1, maxLength: 80, description: 'what you call this rig, 1 to 80 letters' },
    site: SITE,
    sites: {
      type: 'object', additionalProperties: SITE,
      description: 'an object with sites by your names for them, such as { "home": { "latitudeDeg": 39.2, "longitudeDeg": -3.4 } }',
    },
    clock: {
      type: 'object', additionalProperties: false,
      description: 'an object with zone or utcOffset, and offsetSeconds',
      allOf: [{ not: { required: ['utcOffset', 'zone'] } }],
      properties: {
        utcOffset: {
          type: 'string', pattern: '^(Z|[+-](0?[0-9]|1[0-3])(:?[0-5][0-9])?|[+-]14(:?00)?)$',
          description: 'the zone that the camera\'s clock is set to, east of UTC, such as "+02:00"; used where a frame carries no zone',
        },
        zone: {
          type: 'string', minLength: 3, maxLength: 60,
          description: 'the name of that zone instead, such as "Europe/Madrid": daylight saving goes by the date',
        },
        offsetSeconds: {
          type: 'number', minimum: -86400, maximum: 86400,
          description: 'seconds that the clock is ahead of the right time (camera clock minus UTC once its zone is taken off), -86400 '
            + 'to 86400',
        },
      },
    },
    camera: {
      type: 'object', additionalProperties: false,
      description: 'an object with pixelSizeMicrometres, focalLengthMillimetres and what else is known of the camera',
      dependentRequired: { widthPixels: ['heightPixels'], heightPixels: ['widthPixels'] },
      properties: {
        pixelSizeMicrometres: {
          type: 'number', minimum: 0.1, maximum: 1000, description: 'pitch of the stored pixels in micrometres, 0.1 to 1000',
        },
        focalLengthMillimetres: { type: 'number', minimum: 1, maximum: 20000, description: 'millimetres, 1 to 20000' },
        apertureMillimetres: {
          type: 'number', minimum: 1, maximum: 5000, description: 'clear aperture of the telescope or lens in millimetres, 1 to 5000',
        },
        widthPixels: { type: 'number', minimum: 32, maximum: 100000, description: 'stored pixels in a row, 32 to 100000' },
        heightPixels: { type: 'number', minimum: 32, maximum: 100000, description: 'rows of stored pixels, 32 to 100000' },
        readNoiseElectrons: { type: 'number', minimum: 0, maximum: 100, description: 'read noise of a pixel in electrons, 0 to 100' },
      },
    },
    mount: {
      type: 'object', additionalProperties: false,
      description: 'an object with capacityKilograms and payloadKilograms',
      properties: {
        capacityKilograms: {
          type: 'number', exclusiveMinimum: 0, maximum: 2000,
          description: 'what its maker rates the mount for, counterweights not counted, in kilograms, above 0 to 2000',
        },
        payloadKilograms: {
          type: 'number', exclusiveMinimum: 0, maximum: 2000,
          description: 'all that the mount carries but the counterweights, in kilograms, above 0 to 2000',
        },
      },
    },
    limitArcmin: { type: 'number', exclusiveMinimum: 0, maximum: 600, description: 'arcminutes from the pole that are near enough, '
      + 'above 0 to 600' },
    plannedRun: {
      type: 'object', additionalProperties: false, required: ['declinationDeg', 'hourAngleHours', 'hours', 'exposureSeconds'],
      description: 'an object with declinationDeg, hourAngleHours, hours, exposureSeconds and, if guided, guideOffsetDeg',
      properties: {
        declinationDeg: { type: 'number', minimum: -90, maximum: 90, description: 'declination of the target in degrees, -90 to 90' },
        hourAngleHours: { type: 'number', minimum: -12, maximum: 12, description: 'hour angle at the start in hours, west positive, '
          + '-12 to 12' },
        hours: { type: 'number', exclusiveMinimum: 0, maximum: 24, description: 'length of the run in hours, above 0 to 24' },
        exposureSeconds: { type: 'number', exclusiveMinimum: 0, maximum: 7200, description: 'one exposure in seconds, above 0 to 7200' },
        guideOffsetDeg: { type: 'number', minimum: 0, maximum: 90, description: 'degrees from the middle of the field to the guide '
          + 'star, 0 to 90' },
        limitPixels: { type: 'number', exclusiveMinimum: 0, maximum: 100, description: 'longest trail allowed in pixels, above 0 to 100' },
      },
    },
    knobs: {
      type: 'object', additionalProperties: false,
      description: 'an object with azimuth and altitude',
      properties: {
        azimuth: {
          type: 'object', ...travelRules,
          description: 'an object: arcminPerTurn, or screwPitchMillimetres or thread with leverArmMillimetres; clockwise',
          dependentRequired: { ...travelRules.dependentRequired, pushPull: ['screw', 'clockwise'], screw: ['pushPull'] },
          properties: {
            ...travel,
            clockwise: {
              type: 'string', enum: ['left', 'right', 'east', 'west'],
              description: '"left" or "right" as you face the pole ("east" or "west" at the file\'s own site): where the axis\' upper end '
                + 'goes when the knob, seen facing it, is turned clockwise',
            },
            pushPull: {
              type: 'boolean', const: true,
              description: 'true where two opposing screws push, one loosened before the other is tightened, and screw says which one '
                + 'clockwise is about; else leave it out',
            },
            screw: {
              type: 'string', enum: ['left', 'right'],
              description: '"left" or "right", as you stand behind the mount and face the pole: the screw of a pair that clockwise '
                + 'is about',
            },
          },
        },
        altitude: {
          type: 'object', ...travelRules,
          description: 'an object: arcminPerTurn, or screwPitchMillimetres or thread with leverArmMillimetres; clockwise',
          properties: {
            ...travel,
            clockwise: {
              type: 'string', enum: ['raise', 'lower'],
              description: '"raise" or "lower": what the axis does when the knob, seen facing it, is turned clockwise',
            },
          },
        },
      },
    },
  },
};
