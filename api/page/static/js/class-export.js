// All that is kept of one pupil in one assignment, as a file for them: what they handed in,
// what is said about it, and what was decided.

import { ask } from './service.js';
import * as service from './class-service.js';
import { offer } from './save-file.js';
import { scorePath, workOf } from './class-work.js';

export async function exported({ id, reference, sessions, assignment }) {
  const attempts = [];
  for (const s of sessions) {
    attempts.push({ ...(await workOf(id, reference, s.attempt)), score: await asText(await (await ask(scorePath(s))).blob()) });
  }
  const decisions = (await service.log(id)).filter((e) => e.reference === reference);
  const text = JSON.stringify({ assignment: assignment.title, reference, attempts, decisions }, null, 1);
  offer(new Blob([text], { type: 'application/json' }), `${reference.replace(/[^\p{L}\p{N}._-]+/gu, '-')}.json`);
}

// asText is a score as text, or its bytes in base64 where it is compressed.
async function asText(blob) {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  if (bytes[0] !== 0x50 || bytes[1] !== 0x4b) return new TextDecoder().decode(bytes);
  return `data:application/vnd.recordare.musicxml;base64,${btoa(Array.from(bytes, (b) => String.fromCharCode(b)).join(''))}`;
}
