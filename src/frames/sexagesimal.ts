/**
 * Degrees of an angle written as a decimal or in degrees, minutes, seconds, separated by colons, spaces or the usual marks: 39.2, "+39 12
 * 00", "-3:24:00", "3d24m W", "39°12'00.5\" N". S and W make it negative. NaN for anything else, and for what can be read in two ways: a
 * minus beside a letter, an S that may mean seconds or south ("39d12m00S").
 */
export function parseDegrees(value: number | string): number {
  if (typeof value === 'number') return value;
  let text = value.trim().replace(/(m\s*[\d.]+)s(?=\s*[NSEW]?$)/, '$1');
  if (/m\s*[\d.]+S$/i.test(text)) return NaN;
  const letter = /^[NSEW]|[NSEW]$/i.exec(text);
  if (letter) text = (letter.index === 0 ? text.slice(1) : text.slice(0, -1)).trim();
  const minus = text.startsWith('-');
  if (minus && letter) return NaN;
  const parts = text.replace(/^[+-]/, '').split(/[\s:°d'′m"″]+/i).filter((part) => part !== '');
  if (parts.length < 1 || parts.length > 3 || !parts.every((part) => /^(\d+\.?\d*|\.\d+)$/.test(part))) return NaN;
  const [degrees = 0, minutes = 0, seconds = 0] = parts.map(Number);
  if (minutes >= 60 || seconds >= 60) return NaN;
  const angle = degrees + minutes / 60 + seconds / 3600;
  return minus || (letter && /[SW]/i.test(letter[0])) ? -angle : angle;
}
