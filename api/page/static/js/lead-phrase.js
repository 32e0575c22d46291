// The phrase as it is led: engraved, with the voices' paths at the change that is looked
// at, the other ways to lead it, and what can be done with it.

import { h, button, replace } from './dom.js';
import { t } from './words.js';
import { announce } from './announce.js';
import { ScoreView } from './score-view.js';
import { drawPath, drawHarmonies } from './marks.js';
import { play, choose, timbreNames } from './sound.js';
import { fraction, hearNotes, hush } from './listen.js';
import { printedSheets } from './lead-print.js';
import { saved } from './lead-save.js';
import { icon } from './icons.js';
import { keyName } from './pitch.js';
import { s } from './dom.js';
import { kept, keep } from './draft.js';

export class Phrase {
  constructor(view) {
    this.view = view;
    this.shows = { reasons: false, paths: true, ...kept('lead-shows') };
    choose(kept('timbre') ?? 'piano');
    this.paper = h('div', { class: 'paper' });
    this.ways = h('div', { class: 'ways', role: 'group', 'aria-label': t('lead.ways') });
    this.tools = h('div', { class: 'tools', role: 'toolbar', 'aria-label': t('desk.tools') });
    this.element = h('section', { class: 'phrase', 'aria-label': t('lead.phrase') }, this.tools, this.paper, this.ways);
    this.score = new ScoreView(this.paper, {
      label: t('lead.phrase'), scale: kept('lead-scale') ?? (innerWidth < 600 ? 40 : 60),
      decorate: (page) => this.#decorate(page), onnote: (id) => this.#press(id),
    });
  }

  // notes are those of a voicing, in quarter notes.
  notes(alternative) {
    return alternative.voice_notes.flatMap(({ voice, notes }) => notes.map((n) => ({
      voice, onset: fraction(n.onset), duration: fraction(n.duration), midi: n.midi, ids: n.ids,
    })));
  }

  async changed() {
    const { view } = this;
    this.#drawTools();
    this.#drawWays();
    const xml = view.documents[view.front];
    if (xml === this.engraved) {
      this.mark();
      return;
    }
    this.engraved = xml;
    try {
      await this.score.show(xml);
    } catch (error) {
      announce(t('desk.not-drawn-what', { why: error.message }));
    }
  }

  mark() { this.score.mark(); }

  // idsAt are the ids of a chord's notes from the top voice down: what sounds there.
  idsAt(onset) {
    return this.view.chosen.voice_notes.map(({ notes }) => {
      const note = notes.find((n) => fraction(n.onset) <= onset && onset < fraction(n.onset) + fraction(n.duration));
      return note?.ids?.[0];
    });
  }

  // drawNumerals writes what the chords are under a page of the phrase.
  drawNumerals(page) {
    drawHarmonies(page, this.view.chosen.chords.map((c) => ({ ...c, key_shown: tonicOf(c.key), confidence: 1 })), (onset) => this.idsAt(fraction(onset)).toReversed());
  }

  #decorate(page) {
    const { chosen, at, given } = this.view;
    if (!chosen) return;
    const onsets = chosen.chords.map((c) => fraction(c.onset));
    this.drawNumerals(page);
    if (this.shows.paths && at + 1 < onsets.length) {
      const from = this.idsAt(onsets[at]);
      const to = this.idsAt(onsets[at + 1]);
      from.forEach((id, v) => drawPath(page, page.map.notes.get(id), page.map.notes.get(to[v]), `path chosen lead voice-${v + 1}`));
    }
    for (const chord of given.keys()) {
      if (onsets[chord] === undefined) continue;
      for (const id of this.idsAt(onsets[chord])) {
        const place = page.map.notes.get(id);
        if (place) page.overlay.append(s('circle', { class: 'ring held', cx: place.x, cy: place.y, r: 190 }));
      }
    }
  }

  // #press looks at the change that leads to the chord of a note.
  #press(id) {
    const { chosen } = this.view;
    const note = chosen?.voice_notes.flatMap((v) => v.notes).find((n) => n.ids?.includes(id));
    if (!note) return;
    const onsets = chosen.chords.map((c) => fraction(c.onset));
    const chord = onsets.findLastIndex((o) => o <= fraction(note.onset));
    this.view.goTo(Math.max(0, chord - 1));
  }

  #drawWays() {
    const { view } = this;
    const { alternatives, fewer } = view.report;
    replace(this.ways, alternatives.map((a, i) => button([
      h('strong', {}, t('lead.way', { n: i + 1 })), h('span', {}, a.character.join(', ')),
      h('span', { class: 'cost' }, verdict(a)),
    ], () => view.bringForward(i), { 'aria-pressed': String(i === view.front), class: 'way-choice' })),
    fewer && h('p', { class: 'small' }, fewer));
  }

  #drawTools() {
    const { view } = this;
    const toggle = (name, act) => button(t(`lead.show.${name}`), () => {
      this.shows = { ...this.shows, [name]: !this.shows[name] };
      keep('lead-shows', this.shows);
      act();
    }, { 'aria-pressed': String(this.shows[name]), class: 'toggle' });
    const zoom = (by) => {
      const scale = Math.round(Math.min(90, Math.max(22, this.score.scale * by)));
      keep('lead-scale', scale);
      this.score.zoom(scale);
    };
    replace(this.tools,
      h('div', { class: 'group' },
        button(t('desk.hear'), () => this.hear(), { class: 'primary' }),
        button(t('desk.hush'), hush),
        h('select', { 'aria-label': t('lead.timbre'), onchange: (e) => { choose(e.target.value); keep('timbre', e.target.value); } },
          timbreNames.map((name) => h('option', { value: name, selected: name === (kept('timbre') ?? 'piano') }, t(`lead.timbre.${name}`))))),
      h('div', { class: 'group' },
        toggle('paths', () => { this.#drawTools(); this.mark(); }),
        toggle('reasons', () => { this.#drawTools(); view.voice(); })),
      h('div', { class: 'group' },
        button(icon('smaller'), () => zoom(1 / 1.15), { 'aria-label': t('desk.smaller'), title: t('desk.smaller'), class: 'icon' }),
        button(icon('larger'), () => zoom(1.15), { 'aria-label': t('desk.larger'), title: t('desk.larger'), class: 'icon' })),
      h('div', { class: 'group end' },
        button(t('lead.link'), (e) => this.#copy(e.target), { title: t('lead.link-why') }),
        saved(view),
        printedSheets(view)));
  }

  hear() { hearNotes(this.notes(this.view.chosen), { tempo: 66 }); }

  async #copy(sign) {
    const address = new URL(this.view.link, location.href).href;
    try {
      await navigator.clipboard.writeText(address);
      sign.textContent = t('lead.link-copied');
    } catch {
      prompt(t('lead.link'), address); // plain http by host name has no clipboard
    }
  }
}

// tonicOf names a key as analyses do: by its tonic, small for minor.
function tonicOf(key) {
  const [tonic] = keyName(key).split(/[ -]/);
  return /^[a-g]/.test(key) ? tonic[0].toLowerCase() + tonic.slice(1) : tonic;
}

function verdict({ faults, cautions }) {
  if (!faults && !cautions) return t('lead.clean');
  return [faults && t('lead.faults', { n: faults }), cautions && t('lead.cautions', { n: cautions })].filter(Boolean).join(', ');
}
