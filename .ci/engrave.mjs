// Engraves scores before and after marking and compares what stands on the page:
// no note, rest or measure may be lost, and the key must be printed wherever there
// are notes (rests over many measures are drawn as one, without their texts).
//
//   partwright check --out OUT SCORES
//   npm install --prefix .ci && node .ci/engrave.mjs SCORES OUT [PICTURES]
//
// SCORES is a folder with .musicxml, .xml and .mxl files; OUT holds NAME.marked.*
// beside it. With a third folder the marked pages are written there as SVG, to be
// looked at. With SHEETS in place of the two folders, written sheets (partwright
// voice --out SHEETS) are engraved: every note and label must be there.
//
//   node .ci/engrave.mjs --sheets SHEETS [PICTURES]
//
// Scores with an analysis (partwright check --annotate numerals,figures,symbols --out MARKED)
// and sheets alike must not have two labels in one place, which are drawn over one another.
// Numerals must be lyrics, which all engravers print, in scores without lyrics of their own.
//
//   node .ci/engrave.mjs --annotated MARKED [PICTURES]
//
// Exit status 1 means that something was lost.
import fs from 'node:fs';
import path from 'node:path';
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';

const [before, after, pictures] = process.argv.slice(2);
if (!after) {
  console.error('usage: node engrave.mjs SCORES OUT [PICTURES]');
  process.exit(2);
}
const toolkit = new VerovioToolkit(await createVerovioModule());
toolkit.setOptions({ adjustPageHeight: true, pageWidth: 2100, pageHeight: 2970, scale: 40 });

function load(file) {
  const data = fs.readFileSync(file);
  if (data.subarray(0, 2).toString() === 'PK') {
    return toolkit.loadZipDataBuffer(data.buffer.slice(data.byteOffset, data.byteOffset + data.length));
  }
  return toolkit.loadData(decode(data));
}

function decode(data) {
  const label = data[0] === 0xff ? 'utf-16le' : data[0] === 0xfe ? 'utf-16be'
    : /^<\?xml[^>]*iso-8859-1/i.test(data.subarray(0, 100).toString('latin1')) ? 'latin1' : 'utf-8';
  return new TextDecoder(label).decode(data);
}

// engrave returns how often each kind of thing stands in the engraved score.
function engrave(file, picture) {
  if (!load(file)) return null;
  const mei = toolkit.getMEI();
  const counts = {};
  for (const name of ['note', 'rest', 'mRest', 'measure', 'tie', 'slur', 'fermata', 'verse', 'harm', 'dir']) {
    counts[name] = (mei.match(new RegExp(`<${name}[ />]`, 'g')) ?? []).length;
  }
  const pages = [];
  for (let page = 1; page <= toolkit.getPageCount(); page++) pages.push(toolkit.renderToSVG(page));
  if (picture) pages.forEach((svg, i) => fs.writeFileSync(`${picture}-${i + 1}.svg`, svg));
  counts.drawn = pages.join('').match(/class="note[" ]/g)?.length ?? 0;
  return { counts, over: overprinted(mei), printed: pages.join('').includes('[*]') };
}

// overprinted names the measures that have two labels under one staff at one time: the
// engraver sets all of them in one row. A label without a text prints nothing.
function overprinted(mei) {
  const where = [];
  for (const [, n, measure] of mei.matchAll(/<measure[^>]*? n="([^"]*)"[^>]*>([\s\S]*?)<\/measure>/g)) {
    const taken = new Set();
    for (const [tag] of measure.matchAll(/<harm [^>]*>/g)) {
      if (tag.includes('place="above"') || tag.endsWith('/>')) continue;
      const at = ['staff', 'tstamp'].map((name) => tag.match(new RegExp(` ${name}="([^"]*)"`))?.[1]).join();
      if (taken.has(at)) where.push(n);
      taken.add(at);
    }
  }
  return where;
}

// engraveAnnotated asks of marked scores with an analysis that no label is over another.
function engraveAnnotated(folder, pictures) {
  let engraved = 0, wrong = 0;
  for (const file of fs.readdirSync(folder).filter((f) => f.endsWith('.marked.musicxml')).sort()) {
    const is = engrave(path.join(folder, file), pictures && path.join(pictures, path.parse(file).name));
    const sung = fs.readFileSync(path.join(folder, file), 'utf8').match(/<lyric[ >]/g)?.length ?? 0;
    engraved++;
    const problems = is ? [] : ['not loaded'];
    if (is?.counts.harm === 0) problems.push('no label');
    if (is?.over.length > 0) problems.push(`labels over one another in measures ${is.over}`);
    if (sung === 0) problems.push('no numeral is a lyric');
    if (is && is.counts.verse !== sung) problems.push(`lyrics ${sung} -> ${is.counts.verse}`);
    if (problems.length === 0) continue;
    wrong++;
    console.log(`${file}: ${problems.join(', ')}`);
  }
  console.log(`${engraved} scores with an analysis engraved, ${wrong} wrong`);
  process.exit(wrong > 0 || engraved === 0 ? 1 : 0);
}

// elsewhere names what other engravers than this one would not print or print twice (seen in
// LilyPond 2.24 by its musicxml2ly): labels of a staff without notes, both of two titles, and
// names before a staff that begin off the page.
function elsewhere(text) {
  const problems = [];
  for (const [, part, music] of text.matchAll(/<part id="([^"]*)">([\s\S]*?)<\/part>/g)) {
    if (!music.includes('<pitch>') && music.includes('<harmony')) problems.push(`labels at the empty staff ${part}`);
  }
  if (text.includes('<work-title>') && text.includes('<movement-title>')) problems.push('two titles');
  for (const [, name, shown] of text.matchAll(/<part-name>([^<]*)<\/part-name>(?:\s*<part-name-display>\s*<display-text>([^<]*))?/g)) {
    const wide = (shown ?? name).split('\n').find((line) => line.length > 12);
    if (wide) problems.push(`the name ${wide} is too wide`);
  }
  return problems;
}

// engraveSheets holds written sheets against what stands in them.
function engraveSheets(folder, pictures) {
  let engraved = 0, wrong = 0;
  for (const file of fs.readdirSync(folder).filter((f) => f.endsWith('.musicxml')).sort()) {
    const text = fs.readFileSync(path.join(folder, file), 'utf8');
    const count = (pattern) => text.match(pattern)?.length ?? 0;
    const is = engrave(path.join(folder, file), pictures && path.join(pictures, path.parse(file).name));
    // Figures that stand above numerals are written twice: to be read, and as words to be seen.
    const labels = count(/<harmony[ >]/g) + count(/<figured-bass(?! print-object="no")[ >]/g);
    // Numerals that are lyrics have an element as well, which prints nothing.
    const want = { verse: count(/<lyric[ >]/g), note: count(/<pitch>/g), measure: count(/<measure /g) / count(/<part /g), harm: labels, dir: count(/<words[ >]/g) };
    const problems = is ? Object.keys(want).filter((k) => is.counts[k] !== want[k])
      .map((k) => `${k} ${want[k]} -> ${is.counts[k]}`) : ['not loaded'];
    if (is?.over.length > 0) problems.push(`labels over one another in measures ${is.over}`);
    problems.push(...elsewhere(text));
    engraved++;
    if (problems.length > 0) {
      wrong++;
      console.log(`${file}: ${problems.join(', ')}`);
    }
  }
  console.log(`${engraved} sheets engraved, ${wrong} with a difference`);
  process.exit(wrong > 0 || engraved === 0 ? 1 : 0);
}
if (before === '--sheets') engraveSheets(after, pictures);
if (before === '--annotated') engraveAnnotated(after, pictures);

let compared = 0, skipped = 0, lost = 0;
for (const file of fs.readdirSync(before).sort()) {
  const { name, ext } = path.parse(file);
  const marked = path.join(after, `${name}.marked${ext === '.mxl' ? '.mxl' : '.musicxml'}`);
  if (!['.musicxml', '.xml', '.mxl'].includes(ext) || !fs.existsSync(marked)) continue;
  const was = engrave(path.join(before, file));
  const is = engrave(marked, pictures && path.join(pictures, name));
  if (!was) { skipped++; continue; } // the engraver cannot read the original
  compared++;
  const problems = is ? Object.keys(was.counts)
    .filter((k) => k === 'dir' ? is.counts[k] < was.counts[k] : was.counts[k] !== is.counts[k]) // marks are words
    .map((k) => `${k} ${was.counts[k]} -> ${is.counts[k]}`) : ['not loaded'];
  if (is && is.counts.note > 0 && !is.printed) problems.push('the key is not printed');
  if (problems.length > 0) {
    lost++;
    console.log(`${file}: ${problems.join(', ')}`);
  }
}
console.log(`${compared} scores engraved before and after marking, ${lost} with a difference, ${skipped} not readable by the engraver`);
process.exit(lost > 0 || compared === 0 ? 1 : 0);
