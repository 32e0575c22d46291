// What is seen before there is a score: where to drop one, and examples to begin with.

import { h, button } from './dom.js';
import { t } from './words.js';
import { address } from './address.js';

const examples = ['hand-in', 'keyboard', 'model'];

export function welcome(take) {
  const input = h('input', {
    type: 'file', multiple: true, class: 'file', id: 'choose-score',
    accept: '.musicxml,.xml,.mxl,.zip,.tar.gz,.tgz',
    onchange: (event) => event.target.files.length && take([...event.target.files]),
  });
  return h('div', { class: 'welcome' },
    h('div', { class: 'welcome-words' },
      h('h1', {}, t('welcome.title')),
      h('p', { class: 'lead' }, t('welcome.what'))),
    h('div', { class: 'drop' },
      h('span', { class: 'drop-sign', 'aria-hidden': 'true' }),
      h('p', { class: 'drop-words' }, t('welcome.drop')),
      input, h('label', { for: 'choose-score', class: 'button primary' }, t('welcome.choose')),
      h('p', { class: 'small' }, t('welcome.kinds'))),
    h('section', { class: 'examples', 'aria-labelledby': 'examples-title' },
      h('h2', { id: 'examples-title' }, t('welcome.examples')),
      h('ul', {}, examples.map((name) => h('li', {}, button([
        h('strong', {}, t(`example.${name}`)), h('span', {}, t(`example.${name}-what`)),
      ], () => openExample(name, take), { class: 'example' }))))),
    h('p', { class: 'small privacy' }, t('welcome.privacy')));
}

async function openExample(name, take) {
  const answer = await fetch(address(`examples/${name}.musicxml`));
  take([new File([await answer.blob()], `${name}.musicxml`)]);
}
