// Reads archives with what browsers have: DecompressionStream. Formats: PKWARE's
// APPNOTE 6.3 (4.3, 4.4) for zip, POSIX.1 ustar for tar.

const limit = 256 * 2 ** 20; // bytes that an archive may unpack to

// through unpacks bytes. They stay in this process: a Blob would send them to another and back.
async function through(bytes, format) {
  const { readable, writable } = new DecompressionStream(format);
  const writer = writable.getWriter();
  const written = writer.write(bytes).then(() => writer.close());
  written.catch(() => {}); // the reader says what is wrong
  const chunks = [];
  let size = 0;
  for (const reader = readable.getReader(); ;) {
    const { done, value } = await reader.read();
    if (done) break;
    size += value.length;
    if (size > limit) throw new Error('the archive unpacks to too much');
    chunks.push(value);
  }
  const whole = new Uint8Array(size);
  let at = 0;
  for (const chunk of chunks) {
    whole.set(chunk, at);
    at += chunk.length;
  }
  return whole;
}

export const gunzip = (bytes) => through(bytes, 'gzip');

export async function unzip(bytes, wanted) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let end = bytes.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) return [];
  const found = [];
  let at = view.getUint32(end + 16, true);
  for (let i = view.getUint16(end + 10, true); i > 0 && view.getUint32(at, true) === 0x02014b50; i--) {
    const [nameSize, extra, comment] = [28, 30, 32].map((o) => view.getUint16(at + o, true));
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + nameSize));
    if (wanted(name)) {
      const local = view.getUint32(at + 42, true);
      const from = local + 30 + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
      const packed = bytes.subarray(from, from + view.getUint32(at + 20, true));
      const method = view.getUint16(at + 10, true);
      found.push({ name, bytes: method === 0 ? packed.slice() : await through(packed, 'deflate-raw') });
    }
    at += 46 + nameSize + extra + comment;
  }
  return found.sort((a, b) => a.name.localeCompare(b.name));
}

export function untar(bytes, wanted) {
  const text = (at, size) => new TextDecoder().decode(bytes.subarray(at, at + size)).replace(/\0.*$/s, '');
  const found = [];
  for (let at = 0; at + 512 <= bytes.length && bytes[at]; ) {
    const size = parseInt(text(at + 124, 12), 8) || 0;
    const prefix = text(at + 345, 155);
    const name = (prefix && `${prefix}/`) + text(at, 100);
    if ((bytes[at + 156] === 48 || bytes[at + 156] === 0) && wanted(name)) found.push({ name, bytes: bytes.slice(at + 512, at + 512 + size) });
    at += 512 + Math.ceil(size / 512) * 512;
  }
  return found;
}
