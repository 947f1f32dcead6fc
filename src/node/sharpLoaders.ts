import sharp from 'sharp';

/** What libvips loads frames with. */
const FRAME_LOADERS = ['Heif', 'Jpeg', 'Png', 'Tiff', 'Webp'].map((format) => `VipsForeignLoad${format}Buffer`);
const SVG_LOADER = 'VipsForeignLoadSvgBuffer';

// Files are told by their first bytes, and libvips tells them by rules of its own: what it must not load is not there for it.
sharp.block({ operation: ['VipsForeignLoad'] });
sharp.unblock({ operation: FRAME_LOADERS });

/** Sharp, loading nothing but JPEG, PNG, TIFF, WebP and AVIF, for all of the process. */
export { sharp };

/**
 * A drawing of our own as PNG, with words about it in its EXIF if there are any. Only meanwhile does libvips load SVG, which can cost any
 * time and memory.
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
