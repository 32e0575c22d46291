// What to teach again: each rule with its reason, and passages of the class that break it,
// without saying whose.

import { h, s } from './dom.js';
import { t } from './words.js';
import { ScoreView } from './score-view.js';
import { midi, parsePitch, signOf } from './pitch.js';

export class ExampleScores {
  constructor(lessons) {
    this.views = [];
    this.element = h('section', { class: 'plot lessons' }, h('h2', {}, t('class.teach-again')),
      lessons.map((l) => h('article', {}, h('h3', {}, l.name), h('p', {}, `${l.sentence} ${l.why}`),
        h('div', { class: 'passages' }, l.examples.map((e) => this.#passage(e))))));
  }

  #passage(example) {
    const paper = h('div', { class: 'paper' });
    const { xml, faulty } = documentOf(example);
    this.views.push({ paper, xml, faulty, label: t('class.passage', { measure: example.measure }) });
    return h('figure', {}, paper, h('figcaption', { class: 'small' }, `${t('problem.measure', { value: example.measure })}: ${example.message}`));
  }

  begin() { this.drawn = this.#drawAll(); }

  async #drawAll() {
    for (const v of this.views) {
      v.score = new ScoreView(v.paper, { label: v.label, scale: 62, pageHeight: 600, decorate: (page) => ring(page, v.faulty) });
      v.score.layout = { pageMarginTop: 20, pageMarginBottom: 20, mnumInterval: 0 };
      try {
        await v.score.show(v.xml);
      } catch { /* the sentence says it too */ }
    }
  }

  close() {
    for (const { score } of this.views) score?.close();
  }
}

const ring = (page, faulty) => faulty.forEach((id) => {
  const place = page.map.notes.get(id);
  if (place) page.overlay.append(s('circle', { class: 'ring fault', cx: place.x, cy: place.y, r: 210 }));
});

const accidental = { '-2': 'flat-flat', '-1': 'flat', 0: 'natural', 1: 'sharp', 2: 'double-sharp' };

// documentOf writes chords as MusicXML 4.0 on two staves, and says which notes are faulty.
export function documentOf({ chords, signature }) {
  const duration = chords.length > 1 ? 2 : 4;
  const faulty = [];
  const staff = (number) => chords.map((chord, c) => {
    const notes = chord.pitches.map((text, i) => ({ p: parsePitch(text), id: `x-${c}-${i}`, bad: chord.faulty.includes(i) }))
      .filter(({ p }) => p && (midi(p) >= 60) === (number === 1));
    for (const n of notes) if (n.bad) faulty.push(n.id);
    const end = `<duration>${duration}</duration><voice>${number}</voice><type>${duration === 2 ? 'half' : 'whole'}</type>`;
    if (!notes.length) return `<note><rest/>${end}<staff>${number}</staff></note>`;
    return notes.reverse().map(({ p, id }, i) => `<note id="${id}">${i ? '<chord/>' : ''}<pitch><step>${'CDEFGAB'[p.step]}</step><alter>${p.alter}</alter><octave>${p.octave}</octave></pitch>${end}${
      p.alter === signOf(p.step, signature) ? '' : `<accidental>${accidental[p.alter]}</accidental>`}<staff>${number}</staff></note>`).join('');
  }).join('');
  return {
    faulty,
    xml: `<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1"><measure number="1">`
      + `<attributes><divisions>1</divisions><key><fifths>${Number(signature)}</fifths></key><time print-object="no"><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>`
      + '<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>'
      + `${staff(1)}<backup><duration>4</duration></backup>${staff(2)}</measure></part></score-partwise>`,
  };
}
