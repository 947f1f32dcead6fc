/** The Emscripten module inside `libraw-wasm`, whose own entry needs a browser's worker. */
declare module 'libraw-wasm/dist/libraw.js' {
  import type { LibRawSettings, RawImageData, RawSensorData } from 'libraw-wasm';

  interface Said {
    readonly raw_width: number;
    readonly raw_height: number;
    /** Seconds since 1970 of the camera's clock, taken to be in the computer's zone; 0 for none. */
    readonly timestamp: number;
    /** Seconds; 0 for none. */
    readonly shutter: number;
    /** Millimetres; 0 for none. */
    readonly focal_len: number;
    readonly filters: number;
    readonly colors: number;
    readonly color_data: { readonly maximum: number };
  }

  export interface LibRaw {
    /** Identifies the file; throws values that are not an Error. */
    open(bytes: Uint8Array, settings: LibRawSettings): void;
    metadata(full: true): Said;
    /** Undefined where the file has no mosaic. The result is in the module's memory. */
    rawImageData(): RawSensorData | undefined;
    imageData(): RawImageData | undefined;
    /** Releases its memory. */
    delete(): void;
  }

  export default function make(options: {
    wasmBinary: Uint8Array; print?: () => void; printErr?: () => void;
  }): Promise<{ LibRaw: new () => LibRaw }>;
}
