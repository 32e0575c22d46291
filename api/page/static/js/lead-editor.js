// Where a row of chords is typed, with what it may be and how it is voiced.

import { h, button, replace } from './dom.js';
import { t } from './words.js';
import { announce } from './announce.js';
import { keyOf, keys, tokens } from './lead-row.js';
import { midiKeyboard } from './lead-midi.js';
import { shown, keyName } from './pitch.js';

const examples = {
  numerals: 'C: I vi ii6 V7 I',
  symbols: 'G: G Em Am/C D7 G',
  figures: 'g: bass G2 F#2/6 G2 C3/6 D3/7# G2*3',
  melody: 'F: soprano A4 G4 A4 Bb4 A4 G4 F4*2',
};

const choices = {
  style: ['chorale', 'keyboard', 'three-voices', 'five-voices'],
  contour: ['arch', 'rising', 'falling', 'steady', 'free'],
  ending: ['given', 'perfect', 'imperfect', 'half', 'plagal', 'deceptive'],
};

const kinds = ['passing', 'suspension', 'neighbor', 'anticipation', 'chord-tone'];

export class RowEditor {
  constructor(view) {
    this.view = view;
    this.text = h('textarea', {
      id: 'lead-row', rows: '1', spellcheck: 'false', autocomplete: 'off', autocapitalize: 'off',
      'aria-describedby': 'lead-help', oninput: () => view.ask({ row: this.text.value }),
    });
    this.wrong = h('p', { class: 'wrong', role: 'status' });
    this.kinds = h('div', { class: 'row-kinds', role: 'group', 'aria-label': t('lead.examples') });
    this.settings = h('div', { class: 'row-settings' });
    this.element = h('section', { class: 'row-editor', 'aria-label': t('lead.row') },
      h('h1', {}, t('lead.title')),
      h('p', { id: 'lead-help', class: 'small' }, t('lead.help')),
      this.kinds,
      h('label', { class: 'row-label', for: 'lead-row' }, t('lead.row')),
      this.text, this.wrong, this.settings);
  }

  draw() {
    const { asked, score } = this.view;
    // What comes from a score is no row of chords; typing one takes its place.
    const row = score ? '' : asked.row;
    if (this.text.value !== row) this.text.value = row;
    this.text.placeholder = score ? t('lead.row-from', { name: score.name }) : '';
    this.wrong.textContent = '';
    this.text.removeAttribute('aria-invalid');
    replace(this.kinds,
      Object.entries(examples).map(([name, row]) => button(t(`lead.example.${name}`), () => { this.view.ask({ row }); this.text.focus(); })),
      h('label', { class: 'button' }, t('lead.drop'), h('input', {
        type: 'file', class: 'said', accept: '.musicxml,.xml,.mxl', onchange: (e) => this.view.take([...e.target.files]),
      })),
      midiKeyboard((names) => this.#played(names), () => keyOf(asked.row) ?? 'C'),
      score && h('p', { class: 'from-score' }, t('lead.from-score', { name: score.name })));
    replace(this.settings,
      ['style', 'contour', 'ending'].map((field) => this.#select(field)),
      !score && this.#keys(),
      this.#elaboration());
  }

  #select(field) {
    const { asked } = this.view;
    return h('label', {}, t(`lead.${field}`), h('select', { onchange: (e) => this.view.ask({ [field]: e.target.value }) },
      choices[field].map((value) => h('option', { value, selected: value === asked[field] }, t(`lead.${field}.${value}`)))));
  }

  #keys() {
    const key = keyOf(this.view.asked.row) ?? 'C';
    const names = keys[/^[a-g]/.test(key) ? 'minor' : 'major'];
    const all = names.includes(key) ? names : [key, ...names];
    return h('label', {}, t('lead.key'), h('select', { onchange: (e) => this.view.transpose(e.target.value) },
      all.map((name) => h('option', { value: name, selected: name === key }, keyName(name)))));
  }

  #elaboration() {
    const { asked } = this.view;
    const on = asked.decorations ? asked.decorations.split(',') : kinds;
    const toggle = (kind) => h('label', { class: 'check' }, h('input', {
      type: 'checkbox', checked: on.includes(kind),
      onchange: (e) => {
        const now = kinds.filter((k) => (k === kind ? e.target.checked : on.includes(k)));
        this.view.ask(now.length ? { decorations: now.length === kinds.length ? '' : now.join(',') } : { density: 0 });
      },
    }), t(`lead.kind.${kind}`));
    const level = h('input', {
      type: 'range', min: '0', max: '1', step: '0.25', value: String(asked.density), 'aria-label': t('lead.density'),
      'aria-valuetext': t(`lead.level.${asked.density * 4}`),
      onchange: (e) => this.view.ask({ density: Number(e.target.value) }),
    });
    return h('fieldset', { class: 'elaboration' }, h('legend', {}, t('lead.density')),
      h('label', { class: 'level' }, h('span', {}, t(`lead.level.${asked.density * 4}`)), level),
      asked.density > 0 && kinds.map(toggle),
      asked.density > 0 && button(t('lead.seed'), () => this.view.ask({ seed: asked.seed + 1 })));
  }

  // #played takes what was played on a MIDI keyboard: a note, or the name of a chord.
  #played(names) {
    const row = `${this.view.asked.row.trimEnd()} ${names.join(' ')}`.trimStart();
    this.view.ask({ row });
    announce(names.map(shown).join(' '));
  }

  // pointTo says which chord cannot be read.
  pointTo(chord) {
    this.text.setAttribute('aria-invalid', 'true');
    const word = chord && tokens(this.view.asked.row).find((w) => w.chord === chord - 1)?.word;
    this.wrong.textContent = word ? t('lead.wrong-chord', { chord, word }) : '';
  }
}
