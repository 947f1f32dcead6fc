/** Has the browser save a file. */
export function download(name: string, content: string, type: string): void {
  const address = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement('a');
  link.href = address;
  link.download = name;
  link.click();
  // Some browsers fetch it a little later.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
