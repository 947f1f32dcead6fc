/**
 * Whether packed bytes (zlib, RFC 1950, as `deflate`) unpack to no more than so many. Checked before a library unpacks them, which would
 * go on until memory ends. The browser counts; the library reports damage.
 */
export async function packedWithin(packed: readonly Uint8Array[], format: 'deflate', mostBytes: number): Promise<boolean> {
  const source = new Blob(packed as Uint8Array<ArrayBuffer>[]).stream().pipeThrough(new DecompressionStream(format));
  const reader = source.getReader();
  let length = 0;
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return true;
      length += value.length;
      if (length > mostBytes) return false;
    }
  } catch {
    return true;
  } finally {
    void reader.cancel().catch(() => {});
  }
}
