import type { ClockMs } from './dateText.js';
import type { Pointing } from './fitsPointing.js';

/** Pixel values as stored or scaled; any finite number is valid, NaN and ±∞ are blank. */
export type PixelArray =
  | Uint8Array | Uint16Array | Int16Array | Uint32Array | Int32Array | Float32Array | Float64Array;

/**
 * A monochrome picture. `data[y * width + x]`, x along a row, y down the rows in file order;
 * the centre of the first stored pixel is (0, 0).
 */
export interface Image {
  readonly width: number;
  readonly height: number;
  readonly data: PixelArray;
  /** The largest value of the camera or format, in units of `data`; null where unknown. */
  readonly ceiling: number | null;
}

/** A value and its source, in words a person can check ("FITS EXPTIME", "rig file", a front's name for its field). */
export interface Sourced<T> {
  readonly value: T;
  readonly from: string;
}

/** What a frame's file says about itself; null where it says nothing usable. */
export interface FrameMetadata {
  /** Middle of the exposure, UTC. */
  readonly midExposure: Sourced<Date> | null;
  readonly exposureSeconds: Sourced<number> | null;
  /** Pitch of the stored pixels, binning included, micrometres. */
  readonly pixelSizeMicrometres: Sourced<number> | null;
  readonly binning: Sourced<number> | null;
  readonly focalLengthMillimetres: Sourced<number> | null;
  readonly latitudeDeg: Sourced<number> | null;
  /** East positive. */
  readonly longitudeDeg: Sourced<number> | null;
  readonly elevationMetres: Sourced<number> | null;
  /** East of UTC: the zone of a local clock that the file gives beside UTC, or that was used to get UTC; absent where there is none. */
  readonly utcOffsetMinutes?: Sourced<number>;
  /** The clock time at the start of the exposure, where its zone is unknown and so it gives no UTC; absent else. */
  readonly unzonedClock?: Sourced<ClockMs>;
  /** The zone that the file itself gives, where another one was given and is used; absent else. */
  readonly overruledZoneMinutes?: Sourced<number>;
  /** Sentences about the file's own clocks where they contradict each other. Absent where they don't. */
  readonly clockDoubts?: readonly string[];
  /** Where the frame says it points; absent or null where it says nothing. */
  readonly pointing?: Pointing | null;
  /** Sentences for the person: what was ignored and why (a time without a zone, say). */
  readonly remarks: readonly string[];
}

/** A picture with what its file says about it. */
export interface Frame {
  /** File name as given by the person. */
  readonly file: string;
  /** The picture in which stars are searched; of a colour mosaic the luminance on 2x2 cells. */
  readonly image: Image;
  /**
   * Pixels to add to a position in `image`, in x and in y, to get the position in the stored picture:
   * 0.5 where the picture was a colour mosaic (see `mosaicToLuminance`), else 0.
   */
  readonly pixelOffset: 0 | 0.5;
  /** True where the first stored row is the bottom one of the picture as its format shows it: FITS without ROWORDER TOP-DOWN. */
  readonly firstRowBottom: boolean;
  /** Sentence for the person where the picture is not the file's main one: a camera raw's preview. Null else. */
  readonly standIn: string | null;
  /** Sentences for the person: which picture of a file with several was taken. */
  readonly notes: readonly string[];
  /**
   * Where the file seems to be written only in part, as some copying programs do it: rows at the end of the picture (of all its colour
   * planes together) that have one value. Absent else.
   */
  readonly unfinished?: { readonly rows: number };
  readonly metadata: FrameMetadata;
}
