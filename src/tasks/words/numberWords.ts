/** With a visible sign: "+13.0′", "−22.0′". */
export function signed(text: string): string {
  // Rounding leaves "-0.0" of a small negative number.
  return text.startsWith('-') && /[1-9]/.test(text) ? `−${text.slice(1)}` : `+${text.replace('-', '')}`;
}

/** Breaks text into lines of at most `width` columns, later lines indented. */
export function wrap(text: string, width = 60, indent = ''): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(/\s+/)) {
    const next = line === '' ? word : `${line} ${word}`;
    if (next.length > width && line.trim() !== '') {
      lines.push(line);
      line = indent + word;
    } else {
      line = next;
    }
  }
  if (line) lines.push(line);
  return lines.join('\n');
}
