// Prints sheets: the exercise, the model answer, and the ways to lead it one above the
// other, each laid out for the paper and on a page of its own.

import { h, button } from './dom.js';
import { t } from './words.js';
import { ScoreView } from './score-view.js';

const widths = { A4: 680, Letter: 700 }; // pixels between the margins at 96 an inch
const kinds = ['exercise', 'model', 'compared'];

export function printedSheets(view) {
  const wanted = new Set(['model']);
  const check = (kind) => h('li', {}, h('label', { class: 'check' }, h('input', {
    type: 'checkbox', checked: wanted.has(kind),
    onchange: (e) => (e.target.checked ? wanted.add(kind) : wanted.delete(kind)),
  }), t(`lead.print.${kind}`)));
  return h('details', { class: 'menu' }, h('summary', { class: 'button' }, t('desk.print')),
    h('ul', {}, kinds.map(check), h('li', {}, button(t('desk.print'), async () => {
      const undo = await prepare(view, wanted);
      addEventListener('afterprint', undo, { once: true });
      print();
    }, { class: 'primary' }))));
}

// prepare lays out what is printed and returns what takes it away again.
const usualPaper = () => (/^(en-US|en-CA)/.test(navigator.language) ? 'Letter' : 'A4');

export async function prepare(view, wanted, paper = usualPaper()) {
  const { documents, report } = await view.sheets({
    exercise: wanted.has('exercise') ? 'auto' : undefined, compare: wanted.has('compared') || undefined, title: t('lead.sheet'), annotate: undefined,
  });
  const voicings = report.alternatives.length;
  const [exercise, compared] = wanted.has('exercise') ? documents.slice(voicings) : [undefined, documents[voicings]];
  // The model answer is the phrase as it is seen: numerals over the page keep clear of figures.
  const sheets = { exercise: { xml: exercise }, model: { xml: view.documents[view.front], decorate: (page) => view.phrase.drawNumerals(page) }, compared: { xml: compared } };
  return layOut(kinds.filter((kind) => wanted.has(kind) && sheets[kind].xml).map((kind) => ({ title: t(`lead.print.${kind}`), ...sheets[kind] })), paper);
}

// printDocuments prints documents, each under a title of its own, or under the one that
// stands in it. What flows follows what stands before it on the same page; scale and layout
// are the engraver's.
export async function printDocuments(documents) {
  addEventListener('afterprint', await layOut(documents), { once: true });
  print();
}

async function layOut(documents, paper = usualPaper()) {
  const root = h('div', { class: 'printed-sheets' });
  document.body.append(root);
  document.documentElement.dataset.printing = paper;
  for (const { title, xml, flows, scale = 36, layout, decorate } of documents) {
    const page = h('section', { class: `printed-sheet ${flows ? 'flows' : ''}`, 'data-printing': paper }, title && h('h1', {}, title));
    page.style.width = `${widths[paper]}px`;
    root.append(page);
    const score = new ScoreView(page, { label: title, scale, pageHeight: 900, decorate });
    score.layout = { ...(!title && { header: 'auto' }), ...layout };
    await score.show(xml);
    await score.drawAll();
  }
  return () => {
    root.remove();
    delete document.documentElement.dataset.printing;
  };
}
