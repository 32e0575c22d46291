// The first page of a score as it came, drawn while the service still checks it. Only what
// is surely plain is drawn so: no large file, nothing that declares entities.

import { unzip } from './archives.js';

const most = 4 * 2 ** 20; // bytes of text
const packed = (bytes) => bytes[0] === 0x50 && bytes[1] === 0x4b;

// plainText is the document of a score, undefined where it is not plain.
export async function plainText(bytes) {
  let document = bytes;
  if (packed(bytes)) [{ bytes: document } = {}] = await unzip(bytes, (name) => /\.(musicxml|xml)$/i.test(name) && !name.startsWith('META-INF/'));
  if (!document || document.length > most) return undefined;
  try {
    const text = new TextDecoder('utf-8', { fatal: true }).decode(document);
    return /<!ENTITY/i.test(text) ? undefined : text;
  } catch {
    return undefined; // another encoding, or no text
  }
}
