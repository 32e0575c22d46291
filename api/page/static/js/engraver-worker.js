// The engraver's worker. It keeps several documents by their keys and has one of them
// laid out at a time.

import { beginning } from './beginning.js';
import { practice } from './practice.js';

let toolkit;
const documents = new Map();
let current;

const tasks = {
  async start() {
    const base = new URL('../engraver/', import.meta.url);
    const [{ default: create }, { VerovioToolkit }] = await Promise.all([
      import(new URL('verovio-module.mjs', base)),
      import(new URL('verovio.mjs', base)),
    ]);
    toolkit = new VerovioToolkit(await create());
    setTimeout(practise);
    return { version: toolkit.getVersion() };
  },

  // load lays a document out, says on how many pages, and draws the first.
  load({ key, xml, layout }) {
    documents.set(key, { xml, layout });
    current = undefined;
    const from = performance.now();
    const pages = use(key);
    const laid = performance.now();
    const svg = pages ? toolkit.renderToSVG(1) : '';
    return { pages, svg, took: { load: laid - from, page: performance.now() - laid } };
  },

  page({ key, number }) {
    use(key);
    return { svg: toolkit.renderToSVG(number) };
  },

  pageOf({ key, id }) {
    use(key);
    return { page: Number(toolkit.getPageWithElement(id)) };
  },

  forget({ key }) {
    documents.delete(key);
    return {};
  },
};

const common = {
  inputFrom: 'xml', svgViewBox: true, svgFormatRaw: true, adjustPageHeight: true, breaks: 'auto', header: 'none', footer: 'none',
  pageMarginLeft: 20, pageMarginRight: 20, pageMarginTop: 110, pageMarginBottom: 190,
  spacingSystem: 28, spacingStaff: 10, mnumInterval: 1,
};

function lay(xml, { width, height, scale, measures, ...more }) {
  const units = (pixels) => Math.round((pixels * 100) / scale);
  toolkit.setOptions({ ...common, ...more, scale, pageWidth: units(width), pageHeight: units(height) });
  return (measures && toolkit.loadData(beginning(xml, measures))) || toolkit.loadData(xml);
}

// use lays a document out unless it is, and says how many pages it has.
function use(key) {
  const document = documents.get(key);
  if (!document) throw new Error('the document is not there any more');
  if (current !== key) {
    if (!lay(document.xml, document.layout)) throw new Error('the engraver cannot read the score');
    current = key;
  }
  return toolkit.getPageCount();
}

// The first drawings are many times slower than those that follow: a browser translates what
// is used, and better what is used often. So a small piece is engraved over and over until
// that gains nothing, one turn at a time between tasks, and no more once there is real work.
// The pauses are for the browser, which translates beside the turns: without them what it has
// begun is still at work when a score comes, and slows it.
const fewest = 24; // turns
const most = 80;
const longest = 8000; // milliseconds in all
const pause = 60; // milliseconds
const spells = [];
let busy = 0;
let practised = '';

function practise() {
  if (current !== undefined || spells.length >= most || settled()) {
    self.postMessage({ practised });
    return;
  }
  if (!busy) {
    const from = performance.now();
    lay(practice, { width: 800, height: 900, scale: 54 });
    practised = toolkit.renderToSVG(1);
    spells.push(performance.now() - from);
  }
  setTimeout(practise, pause);
}

// settled tells that the last turns were no faster than those before, or that it has been enough.
function settled() {
  const least = (turns) => Math.min(...turns);
  const inAll = spells.reduce((sum, spell) => sum + spell, 0);
  return inAll > longest || (spells.length >= fewest && least(spells.slice(-8)) > 0.9 * least(spells.slice(0, -8)));
}

// One task after the other, in the order in which they came.
let last = Promise.resolve();
self.onmessage = ({ data }) => {
  busy++;
  last = last.then(async () => {
    try {
      self.postMessage({ call: data.call, ...await tasks[data.task](data) });
    } catch (error) {
      self.postMessage({ call: data.call, error: String(error?.message ?? error) });
    }
    busy--;
  });
};
