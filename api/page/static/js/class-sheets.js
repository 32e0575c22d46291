// The sheets of an assignment: what is handed out, and the model answers. They are printed,
// the sheet on a page of its own, or saved.

import { h, button } from './dom.js';
import { t } from './words.js';
import { exercise, models, pathOf } from './class-service.js';
import { closeCut } from './assignment-form.js';
import { printDocuments } from './lead-print.js';
import { announce } from './announce.js';
import { offer, saveButton } from './save-file.js';

export function sheets(view) {
  const refused = (problem) => {
    view.wrong = problem;
    view.draw();
    announce(t('problem.title'));
  };
  const doing = (work) => async () => {
    try {
      await work();
    } catch (problem) {
      refused(problem);
    }
  };
  return h('details', { class: 'menu', name: 'asking', onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('class.sheets')),
    h('ul', {},
      h('li', {}, button(t('class.sheet.print-exercise'), doing(async () => printDocuments([await exerciseOf(view)])))),
      h('li', {}, button(t('class.sheet.print-models'), doing(async () => printDocuments(await modelsOf(view))))),
      h('li', {}, button(t('class.sheet.print-all'), doing(async () => printDocuments([await exerciseOf(view), ...(await modelsOf(view))])))),
      h('li', {}, button(t('class.sheet.save-exercise'), doing(async () => offer(new Blob([await exercise(view.id)], { type: 'application/vnd.recordare.musicxml+xml' }), `${fileName(view.assignment.title)}.musicxml`)))),
      view.report.hand_ins.length > 0 && [
        h('li', {}, saveButton(t('class.save.marked'), `${pathOf(view.id)}/marked.zip`, 'marked.zip', refused)),
        h('li', {}, saveButton(t('class.save.results'), `${pathOf(view.id)}/report`, 'results.csv', refused, 'text/csv'))]));
}

// exerciseOf is large enough to be written on by hand, and as wide as the paper.
const exerciseOf = async ({ id }) => ({ title: '', xml: await exercise(id), scale: 46, layout: { minLastJustification: 0, spacingStaff: 12 } });

// modelsOf are the model answers, one under the other as far as a page has room.
async function modelsOf({ id, assignment: { title } }) {
  const all = await models(id);
  if (!all.length) throw Object.assign(new Error(), { document: { title: t('class.sheet.no-models'), detail: t('class.sheet.no-models-what') } });
  return all.map((xml, i) => ({ title: t('class.sheet.model', { title, n: i + 1, of: all.length }), xml: withoutFigures(xml), flows: true, layout: closeCut }));
}

// withoutFigures leaves the figures to the sheet: numerals say the same in an answer, and the
// engraver sets both at one height.
const withoutFigures = (xml) => xml.replace(/<figured-bass\b[\s\S]*?<\/figured-bass>/g, '');

const fileName = (title) => title.replace(/[\\/:*?"<>|\s]+/g, '-').slice(0, 80) || t('class.sheet');
