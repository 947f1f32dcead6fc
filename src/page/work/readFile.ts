import { PolewardError } from '../../error.js';
import { type DecodeFrameOptions, decodeFrame } from '../../frames/decodeFrame.js';
import type { FrameDecoders } from '../../frames/decoders.js';
import type { Frame } from '../../frames/frame.js';
import { refuseTooManyBytes } from '../../frames/tooLarge.js';
import { printable } from '../../printable.js';
import { type FrameTrouble, troubleOf } from '../../tasks/recognise/frameStars.js';

/** A frame from a file that the person picked. Throws PolewardError. */
export async function frameOfFile(file: File, decoders: FrameDecoders, zone: DecodeFrameOptions): Promise<Frame> {
  refuseTooManyBytes(file.size, printable(file.name));
  return decodeFrame(new Uint8Array(await bytesOf(file)), file.name, decoders, zone);
}

/** What `look` finds in a file's frame, or why it can't. */
export async function resultOfFile<T>(
  file: File, decoders: FrameDecoders, zone: DecodeFrameOptions, look: (frame: Frame) => T,
): Promise<T | FrameTrouble> {
  try {
    return look(await frameOfFile(file, decoders, zone));
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
