// Prints what is seen: the score is laid out anew for the width of the paper, and the
// findings follow it in words.

import { h } from './dom.js';
import { t, place } from './words.js';
import { listSign } from './marks.js';

// Pixels, 96 an inch, between margins of 14 mm, that both A4 and Letter have room for, and
// what there is between the title and the music.
const paper = { width: 680, height: 940 };
const gap = 30;

export async function printed(desk) {
  const undo = await prepare(desk);
  addEventListener('afterprint', undo, { once: true });
  print();
}

// prepare lays the score out for paper and returns what puts it back.
async function prepare(desk) {
  const { score, session } = desk;
  const screen = { scale: score.scale, pageHeight: score.pageHeight, layout: undefined };
  const key = printedFindings(session.report);
  desk.element.dataset.printing = '';
  desk.element.append(key);
  score.element.style.width = `${paper.width}px`;
  // The music begins under the title: a page that is too high for the rest would go to the next.
  Object.assign(score, { scale: 38, pageHeight: paper.height - desk.title.offsetHeight - gap, layout: { spacingSystem: 16, pageMarginBottom: 120 } });
  await score.show(desk.xml);
  await score.drawAll();
  return () => {
    delete desk.element.dataset.printing;
    key.remove();
    score.element.style.width = '';
    Object.assign(score, screen);
    score.show(desk.xml);
  };
}

function printedFindings(report) {
  if (report.unseen) return h('section', {});
  return h('section', { class: 'printed-findings' },
    h('h2', {}, t('findings.title')),
    h('ol', {}, report.findings.map((f) => h('li', {},
      listSign(f.severity, f.number),
      h('div', {}, h('p', {}, h('strong', {}, place(f)), `: ${f.message}`), h('p', { class: 'small' }, f.why))))),
    h('p', { class: 'small' }, t('findings.teacher')));
}
