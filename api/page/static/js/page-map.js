// Where things are on an engraved page, in the engraver's own units. Everything is read
// from the drawing, so that nothing need be laid out by the browser first.

const translate = /translate\((-?[\d.]+)[, ]+(-?[\d.]+)\)/;

// mapOf finds notes, staves and what stands in the way of signs.
export function mapOf(svg) {
  const inner = svg.querySelector('svg.definition-scale') ?? svg;
  const margin = translate.exec(svg.querySelector('g.page-margin')?.getAttribute('transform') ?? '') ?? [0, 0, 0];
  return {
    viewBox: inner.getAttribute('viewBox'),
    margin: { x: Number(margin[1]), y: Number(margin[2]) },
    notes: notesOf(svg),
    systems: [...svg.querySelectorAll('g.system')].map(systemOf),
  };
}

function notesOf(svg) {
  const notes = new Map();
  for (const note of svg.querySelectorAll('g.note, g.rest')) {
    const place = placeOf(note.querySelector('use'));
    if (place) notes.set(note.id, { id: note.id, x: place.x + 110, y: place.y, element: note });
  }
  return notes;
}

function placeOf(use) {
  const found = translate.exec(use?.getAttribute('transform') ?? '');
  return found && { x: Number(found[1]), y: Number(found[2]) };
}

function systemOf(system) {
  const staves = [];
  let left = Infinity;
  let right = 0;
  for (const measure of system.querySelectorAll('g.measure')) {
    [...measure.children].filter((c) => c.classList.contains('staff')).forEach((staff, i) => {
      const lines = linesOf(staff);
      if (!lines.length) return;
      staves[i] ??= { top: lines[0].y, bottom: lines.at(-1).y };
      left = Math.min(left, lines[0].from);
      right = Math.max(right, lines[0].to);
    });
  }
  return { staves: staves.filter(Boolean), left, right, obstacles: obstaclesOf(system) };
}

// linesOf are the lines of a staff: the level paths that come first in it.
function linesOf(staff) {
  const lines = [];
  for (const path of staff.children) {
    const m = path.localName === 'path' && /^M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)$/.exec(path.getAttribute('d'));
    if (!m || m[2] !== m[4]) break;
    lines.push({ y: Number(m[2]), from: Number(m[1]), to: Number(m[3]) });
  }
  return lines;
}

// obstaclesOf are heads, stems, signs and words, as points with a height.
function obstaclesOf(system) {
  const found = [];
  for (const use of system.querySelectorAll('use')) {
    const place = placeOf(use);
    if (place) found.push({ x: place.x + 110, top: place.y - 110, bottom: place.y + 110 });
  }
  for (const path of system.querySelectorAll('g.stem path')) {
    const m = /^M(-?[\d.]+) (-?[\d.]+) L(-?[\d.]+) (-?[\d.]+)/.exec(path.getAttribute('d'));
    if (m) found.push({ x: Number(m[1]), top: Math.min(m[2], m[4]), bottom: Math.max(m[2], m[4]) });
  }
  for (const text of system.querySelectorAll('text[x], tspan[x]')) {
    const y = Number(text.getAttribute('y'));
    const x = Number(text.getAttribute('x'));
    if (y) found.push({ x: x + 150, top: y - 300, bottom: y + 90 });
  }
  return found;
}

// systemAt is the system in which a height lies, or the nearest.
export function systemAt(map, y) {
  const distance = (system) => {
    const top = system.staves[0]?.top ?? Infinity;
    const bottom = system.staves.at(-1)?.bottom ?? -Infinity;
    return y < top ? top - y : Math.max(0, y - bottom);
  };
  return map.systems.reduce((best, system) => (distance(system) < distance(best) ? system : best), map.systems[0]);
}
