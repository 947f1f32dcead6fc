import { InvalidArgumentError } from 'commander';

/** Pixels of a picture, as options give them: "800x600". */
export function pictureSize(text: string): { width: number; height: number } {
  const match = /^(\d{1,5})x(\d{1,5})$/i.exec(text.trim());
  const width = Number(match?.[1]);
  const height = Number(match?.[2]);
  if (width >= 32 && height >= 32 && width * height <= 1.5e8) return { width, height };
  throw new InvalidArgumentError(`The size "${text}" is not from 32x32 to 150 megapixels. Write it like 800x600.`);
}
