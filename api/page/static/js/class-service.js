// The routes of assignments, as the page uses them.

import { ask, askJSON, form, partsOf, post } from './service.js';

const root = '/v1/assignments';

export const pathOf = (id) => `${root}/${encodeURIComponent(id)}`;

export const referencePath = (id, reference) => `${pathOf(id)}/references/${encodeURIComponent(reference)}`;

const sent = (method, body) => ({ method, body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } });

export const assignments = async () => (await askJSON(root)).assignments;

export const assignment = (id) => askJSON(pathOf(id));

export const create = (asked) => askJSON(root, sent('POST', asked));

export const remove = (id) => ask(pathOf(id), { method: 'DELETE' });

export const classReport = (id) => askJSON(`${pathOf(id)}/report`);

export const log = async (id) => (await askJSON(`${pathOf(id)}/decisions`)).decisions;

// decide answers with what the hand-ins concerned come to now.
export const decide = async (id, decision) => (await askJSON(`${pathOf(id)}/decisions`, sent('POST', decision))).outcomes;

export const exercise = async (id) => (await ask(`${pathOf(id)}/exercise`)).text();

// models are the model answers, as documents.
export const models = async (id) => (await askJSON(`${pathOf(id)}/models`)).models.map((m) => m.score);

// copy sets the same exercise once more, with times and groups of its own.
export const copy = (id, own) => askJSON(`${pathOf(id)}/copies`, sent('POST', own));

// gradebook is what learning systems have of each pupil, beside what was sent.
export const gradebook = async (id) => (await askJSON(`${pathOf(id)}/gradebook`)).entries;

// task is what a pupil needs to know of an assignment.
export const task = (id, reference) => askJSON(referencePath(id, reference));

// seen are the attempts of a reference, as its pupil sees them.
export const seen = async (id, reference) => (await askJSON(`${referencePath(id, reference)}/hand-ins`)).hand_ins;

export const handIn = async (id, reference, score) => (await post(`${referencePath(id, reference)}/hand-ins`, form(score, {}))).json();

const edited = ({ id, reference, attempt }, edits, accept) => {
  const { headers, ...options } = sent('POST', { edits });
  return ask(`${referencePath(id, reference)}/hand-ins/${attempt}/revisions`, { ...options, headers: { ...headers, Accept: accept } });
};

// revised is an attempt with other pitches for some of its notes: what the score is with the
// notes of its voices, and its document with ids.
export async function revised(work, edits) {
  const answer = await edited(work, edits, 'multipart/mixed');
  const [said, xml] = await partsOf(answer);
  return { ...JSON.parse(said), xml };
}

// revisedFile is the same as a file to hand in.
export const revisedFile = async (work, edits) => (await edited(work, edits, 'application/vnd.recordare.musicxml+xml')).arrayBuffer();

// handInLink signs a pupil's browser in, once; it is shown this once.
export const handInLink = async (id, reference) => (await askJSON(`${referencePath(id, reference)}/links`, { method: 'POST' })).link;

export const forget = (id, reference) => ask(referencePath(id, reference), { method: 'DELETE' });
