// The sheets of an assignment: what is handed out, and the model answers. They are printed,
// each on a page of its own, or saved.

import { h, button } from './dom.js';
import { t } from './words.js';
import { exercise, pathOf } from './class-service.js';
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
  return h('details', { class: 'menu', onkeydown: (e) => { if (e.key === 'Escape') e.currentTarget.open = false; } },
    h('summary', { class: 'button' }, t('class.sheets')),
    h('ul', {},
      h('li', {}, button(t('class.sheet.print-exercise'), doing(async () => printDocuments([{ title: '', xml: await exercise(view.id) }])))),
      h('li', {}, button(t('class.sheet.save-exercise'), doing(async () => offer(new Blob([await exercise(view.id)], { type: 'application/vnd.recordare.musicxml+xml' }), `${fileName(view.assignment.title)}.musicxml`)))),
      view.report.hand_ins.length > 0 && [
        h('li', {}, saveButton(t('class.save.marked'), `${pathOf(view.id)}/marked.zip`, 'marked.zip', refused)),
        h('li', {}, saveButton(t('class.save.results'), `${pathOf(view.id)}/report`, 'results.csv', refused, 'text/csv'))]));
}

const fileName = (title) => title.replace(/[\\/:*?"<>|\s]+/g, '-').slice(0, 80) || t('class.sheet');
