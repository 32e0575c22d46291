// The text of a score, whatever it came in.

import { unzip } from './archives.js';

// plainText is the document of a score as text, without the declaration that says how its
// bytes are to be read (XML 1.0, 2.8). A container has it where its META-INF/container.xml
// says (MusicXML 4.0, compressed files).
export async function plainText(bytes) {
  if (bytes[0] !== 0x50 || bytes[1] !== 0x4b) return decoded(bytes);
  const [container] = await unzip(bytes, (name) => name === 'META-INF/container.xml');
  const path = /<rootfile\s[^>]*full-path\s*=\s*["']([^"']+)/.exec(container ? decoded(container.bytes) : '')?.[1];
  const [document] = await unzip(bytes, (name) => name === path);
  return document ? decoded(document.bytes) : '';
}

function decoded(bytes) {
  return decoderFor(encodingOf(bytes)).decode(bytes).replace(/^\s*<\?xml[^>]*\?>/, '');
}

function decoderFor(encoding) {
  try {
    return new TextDecoder(encoding);
  } catch {
    return new TextDecoder(); // a name that browsers do not know
  }
}

// encodingOf is told by the first bytes, else by the declaration (XML 1.0, appendix F).
function encodingOf(bytes) {
  const [a, b] = bytes;
  if ((a === 0xfe && b === 0xff) || (a === 0 && b === 0x3c)) return 'utf-16be';
  if ((a === 0xff && b === 0xfe) || (a === 0x3c && b === 0)) return 'utf-16le';
  const start = new TextDecoder('latin1').decode(bytes.subarray(0, 200));
  return /^[^<]*<\?xml[^>]*\sencoding\s*=\s*["']([\w.-]+)/.exec(start)?.[1] ?? 'utf-8';
}
