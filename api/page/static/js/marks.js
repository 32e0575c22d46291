// Marks over an engraved page: signs at the notes, the paths of voices, harmonies. A
// severity has a shape of its own, so that colors are not needed: a fault a disc, a
// caution a diamond, a remark a square.

import { s } from './dom.js';
import { systemAt } from './page-map.js';
import { keyShown, numeralShown } from './pitch.js';

const shapes = {
  fault: () => s('circle', { r: 190 }),
  caution: () => s('rect', { x: -165, y: -165, width: 330, height: 330, transform: 'rotate(45)' }),
  remark: () => s('rect', { x: -180, y: -170, width: 360, height: 340 }),
};

// sign is a shape with a number, for scores and, in a drawing of its own, for lists.
export function sign(severity, number) {
  const wide = String(number).length;
  return s('g', { class: `sign ${severity}` }, (shapes[severity] ?? shapes.remark)(),
    s('text', { 'text-anchor': 'middle', y: 88, 'font-size': [250, 250, 215, 165][Math.min(3, wide)], text: String(number) }));
}

export const listSign = (severity, number) =>
  s('svg', { class: 'list-sign', viewBox: '-240 -240 480 480', 'aria-hidden': 'true' }, sign(severity, number));

// drawFinding puts the sign of a finding over or under its notes. What is chosen has its
// notes ringed and its voices' paths drawn strongly.
export function drawFinding(page, finding, { chosen, paths, onpress, open = true }) {
  const notes = finding.notes.filter((n) => page.map.notes.has(n.id));
  if (!notes.length) return;
  const place = (n) => page.map.notes.get(n.id);
  if (chosen || paths) drawPaths(page, finding, chosen);
  if (chosen) for (const n of notes) page.overlay.append(s('circle', { class: `ring ${finding.severity}`, cx: place(n).x, cy: place(n).y, r: 210 }));
  const last = notes.filter((n) => n.onset === notes.at(-1).onset);
  const top = last.reduce((a, b) => (place(a).y < place(b).y ? a : b));
  const { x, y } = spot(page, place(top));
  const mark = open ? sign(finding.severity, finding.number) : sign('hidden', '?');
  mark.setAttribute('transform', `translate(${x}, ${y})`);
  mark.dataset.finding = finding.number;
  mark.classList.toggle('chosen', chosen);
  mark.addEventListener('pointerdown', (event) => { event.stopPropagation(); onpress?.(finding); });
  page.overlay.append(mark);
}

// spot is free room for a sign: over the staff, or under the lowest one.
function spot(page, note) {
  const system = systemAt(page.map, note.y);
  const index = nearestStaff(system, note.y);
  const staff = system.staves[index];
  const under = index > 0 && index === system.staves.length - 1;
  const close = system.obstacles.filter((o) => Math.abs(o.x - note.x) < 300);
  let y = under ? below(staff, close) : above(staff, system.staves[index - 1], close);
  while (page.signs.some((o) => Math.abs(o.x - note.x) < 400 && Math.abs(o.y - y) < 400)) y += under ? 410 : -410;
  page.signs.push({ x: note.x, y, system });
  return { x: note.x, y };
}

const below = (staff, close) => Math.max(staff.bottom, ...close.filter((o) => o.top > staff.top).map((o) => o.bottom)) + 290;

// above is between a staff and the one over it, and does not reach into that.
function above(staff, upper, close) {
  const limit = upper ? (upper.bottom + staff.top) / 2 : staff.top - 1300;
  const tops = close.filter((o) => o.bottom < staff.bottom && o.bottom > limit).map((o) => o.top);
  return Math.max(Math.min(staff.top, ...tops) - 290, upper ? upper.bottom + 230 : -Infinity);
}

function nearestStaff(system, y) {
  let best = 0;
  let least = Infinity;
  system.staves.forEach((staff, i) => {
    const away = y < staff.top ? staff.top - y : Math.max(0, y - staff.bottom);
    if (away < least) [best, least] = [i, away];
  });
  return best;
}

// drawPaths joins the notes of each voice: the first voice solid, the second dashed.
function drawPaths(page, finding, chosen) {
  const voices = [...new Set(finding.notes.map((n) => n.voice))].slice(0, 3);
  voices.forEach((voice, i) => {
    const notes = finding.notes.filter((n) => n.voice === voice);
    for (let k = 1; k < notes.length; k++) {
      const from = page.map.notes.get(notes[k - 1].id);
      const to = page.map.notes.get(notes[k].id);
      drawPath(page, from, to, `path voice-${i + 1} ${finding.severity} ${chosen ? 'chosen' : ''}`);
    }
  });
}

// drawPath is a line between two notes; over the end of a system, or of a page, it goes
// to the edge and begins again there.
export function drawPath(page, from, to, name) {
  if (!from && !to) return;
  const line = (x1, y1, x2, y2) => page.overlay.append(s('line', { class: name, x1, y1, x2, y2 }));
  const same = from && to && systemAt(page.map, from.y) === systemAt(page.map, to.y);
  if (same) {
    line(from.x, from.y, to.x, to.y);
    return;
  }
  if (from) line(from.x, from.y, systemAt(page.map, from.y).right + 150, from.y);
  if (to) line(systemAt(page.map, to.y).left + 300, to.y, to.x, to.y);
}

// drawHarmonies writes numerals under the lowest staff, in one line for a system; what finds
// no room there stands a line lower. What is doubtful has a question mark.
export function drawHarmonies(page, harmonies, idsAt) {
  const lines = new Map();
  let key;
  for (const harmony of harmonies) {
    const note = idsAt(harmony.onset).map((id) => page.map.notes.get(id)).find(Boolean);
    const changed = harmony.key !== key;
    key = harmony.key;
    if (!note) continue;
    const system = systemAt(page.map, note.y);
    if (!lines.has(system)) lines.set(system, new Lines(lineUnder(system, page.signs.filter((o) => o.system === system))));
    page.overlay.append(numeral(harmony, changed, note.x - 110, lines.get(system)));
  }
}

const doubtful = 0.7;

// numeral writes one harmony; a new key stands under it.
function numeral(harmony, changed, x, lines) {
  const doubt = harmony.confidence < doubtful ? '?' : '';
  const [, roman, figures, of] = /^([^\d]*)(\d*)(.*)$/.exec(numeralShown(harmony.numeral));
  const line = lines.place(x, widthOf(roman + of + doubt, 1) + widthOf(figures, 2 / 3));
  const text = s('text', { class: 'harmony', x, y: lines.height(line) }, s('tspan', { text: roman }));
  const back = figures ? 80 : 0; // down again from the figures
  if (figures) text.append(s('tspan', { class: 'figures', dy: -back, text: figures }));
  if (of) text.append(s('tspan', { dy: back, text: of }));
  if (doubt) text.append(s('tspan', { class: 'doubt', dy: of ? 0 : back, text: doubt }));
  if (changed) {
    const name = harmony.key_shown ?? keyShown(harmony.key);
    text.append(s('tspan', { class: 'key', x, y: lines.height(lines.place(x, widthOf(name, 0.8), line + 1)), text: name }));
  }
  if (harmony.runner_up) text.append(s('title', { text: harmony.runner_up }));
  return text;
}

// Lines are those of words under a system, and where the words in each end.
class Lines {
  constructor(top) { Object.assign(this, { top, ends: [] }); }

  // place is the first line, from one on, that has room; words come from left to right.
  place(x, width, from = 0) {
    let line = from;
    while (x < (this.ends[line] ?? -Infinity)) line++;
    this.ends[line] = x + width + 70;
    return line;
  }

  height(line) { return this.top + 320 * line; }
}

// Widths of letters of a serif type of 330 units, about; the browser is not asked, since it
// would have to lay out the page for that.
const narrow = new Set('Iil/.,♭t');
const wide = new Set('VNGCDM');

const widthOf = (words, size) => [...words].reduce((sum, c) => sum + size * (narrow.has(c) ? 105 : wide.has(c) ? 235 : 165), 0);

// lineUnder is below the notes and the signs under the lowest staff.
function lineUnder(system, signs) {
  const staff = system.staves.at(-1);
  const below = signs.filter((o) => o.y > staff.bottom).map((o) => o.y + 200);
  const under = system.obstacles.filter((o) => o.bottom > staff.bottom && o.bottom < staff.bottom + 1100).map((o) => o.bottom);
  return Math.max(staff.bottom + 250, ...under, ...below) + 400;
}
