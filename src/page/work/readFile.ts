import { PolewardError } from '../../error.js';
import { decodeFrame } from '../../frames/decodeFrame.js';
import type { FrameDecoders } from '../../frames/decoders.js';
import type { Frame } from '../../frames/frame.js';
import { refuseTooManyBytes } from '../../frames/tooLarge.js';
import { printable } from '../../printable.js';
import { type FrameResult, starsOfFrame, troubleOf } from '../../tasks/recognise/frameStars.js';

/** How files become frames. */
export interface ReadRequest {
  /** Of clocks that tell no zone. */
  readonly utcOffsetMinutes: number | undefined;
  /** Frames without a time take that of their file. */
  readonly fileTimes: boolean;
}

/** A frame from a file that the person picked. Throws PolewardError. */
export async function frameOfFile(file: File, decoders: FrameDecoders, { utcOffsetMinutes, fileTimes }: ReadRequest): Promise<Frame> {
  refuseTooManyBytes(file.size, printable(file.name));
  const bytes = new Uint8Array(await bytesOf(file));
  const frame = await decodeFrame(bytes, file.name, decoders, utcOffsetMinutes === undefined ? {} : { utcOffsetMinutes });
  return fileTimes && !frame.metadata.midExposure ? timedByFile(frame, file.lastModified) : frame;
}

/** The stars of a file's frame, or why there are none. */
export async function starsOfFile(file: File, decoders: FrameDecoders, request: ReadRequest): Promise<FrameResult> {
  try {
    return starsOfFrame(await frameOfFile(file, decoders, request));
  } catch (error) {
    if (error instanceof PolewardError) return troubleOf(file.name, error);
    if (error instanceof RangeError) return troubleOf(file.name, new PolewardError(
      'too-large', `${printable(file.name)} needs more memory than this browser has left. Close other tabs, or give smaller frames.`,
    ));
    throw error;
  }
}

async function bytesOf(file: File): Promise<ArrayBuffer> {
  try {
    return await file.arrayBuffer();
  } catch {
    throw new PolewardError(
      'file-unreadable', `${printable(file.name)} can't be read: it was moved or changed since it was picked. Pick it again.`,
    );
  }
}

/** Files are written when the exposure has ended. */
function timedByFile(frame: Frame, lastModified: number): Frame {
  const half = 500 * (frame.metadata.exposureSeconds?.value ?? 0);
  return {
    ...frame, metadata: { ...frame.metadata, midExposure: { value: new Date(lastModified - half), from: 'the file\'s own time' } },
  };
}
