import sharp from 'sharp';

/** The loaders of libvips that are used. */
const FRAME_LOADERS = ['Heif', 'Jpeg', 'Png', 'Tiff', 'Webp'].map((format) => `VipsForeignLoad${format}Buffer`);
const SVG_LOADER = 'VipsForeignLoadSvgBuffer';

// Formats are recognised by the first bytes, but libvips has rules of its own: loaders that must not run are blocked.
sharp.block({ operation: ['VipsForeignLoad'] });
sharp.unblock({ operation: FRAME_LOADERS });

/** Sharp, limited to loading JPEG, PNG, TIFF, WebP and AVIF, in the whole process. */
export { sharp };

/**
 * A drawing of our own as PNG, with words about it in its EXIF if there are any. Only during this call may libvips load SVG, which can cost
 * any time and memory.
 */
export async function svgToPng(svg: string, description: string | null = null): Promise<Buffer> {
  sharp.unblock({ operation: [SVG_LOADER] });
  try {
    const picture = sharp(Buffer.from(svg)).png();
    return await (description === null ? picture : picture.withExif({ IFD0: { ImageDescription: description } })).toBuffer();
  } finally {
    sharp.block({ operation: [SVG_LOADER] });
  }
}
