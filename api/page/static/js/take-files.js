// Files that were dropped or chosen, and the scores in them. An archive is opened here,
// in the browser.

import { unzip, untar, gunzip } from './archives.js';
import { Problem } from './service.js';
import { t } from './words.js';

const isScore = (name) => /\.(musicxml|xml|mxl)$/i.test(name) && !/(^|\/)(\.|__MACOSX)/.test(name);

const most = 200;

export async function takeFiles(files) {
  const scores = [];
  for (const file of files) {
    const bytes = new Uint8Array(await file.arrayBuffer());
    if (/\.zip$/i.test(file.name)) scores.push(...(await unzip(bytes, isScore)));
    else if (/\.(tgz|tar\.gz)$/i.test(file.name)) scores.push(...untar(await gunzip(bytes), isScore));
    else scores.push({ name: file.name, bytes });
    if (scores.length > most) throw new Problem({ title: t('problem.too-many'), detail: t('problem.too-many-what', { most }) });
  }
  if (!scores.length) throw new Problem({ title: t('problem.no-score'), detail: t('problem.no-score-what') });
  return scores;
}

// takeDrops lets files be dropped anywhere on an element.
export function takeDrops(element, take) {
  let depth = 0;
  const over = (by) => {
    depth = Math.max(0, depth + by);
    element.classList.toggle('dropping', depth > 0);
  };
  const files = (event) => event.dataTransfer?.types.includes('Files');
  element.addEventListener('dragenter', (event) => { if (files(event)) over(1); });
  element.addEventListener('dragleave', (event) => { if (files(event)) over(-1); });
  element.addEventListener('dragover', (event) => { if (files(event)) event.preventDefault(); });
  element.addEventListener('drop', (event) => {
    if (!files(event)) return;
    event.preventDefault();
    depth = 0;
    over(0);
    take([...event.dataTransfer.files]);
  });
}
