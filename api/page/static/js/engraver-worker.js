// The engraver's worker. It keeps several documents by their keys and has one of them
// laid out at a time.

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
    // The first drawing is many times slower than the next: make it now, of one note.
    toolkit.setOptions({ scale: 40 });
    toolkit.loadData(tiny);
    toolkit.renderToSVG(1);
    return { version: toolkit.getVersion() };
  },

  load({ key, xml, layout }) {
    documents.set(key, { xml, layout });
    current = undefined;
    return { pages: use(key) };
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

const tiny = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure></part></score-partwise>`;

// use lays a document out unless it is, and says how many pages it has.
function use(key) {
  const document = documents.get(key);
  if (!document) throw new Error('the document is not there any more');
  if (current !== key) {
    const { width, height, scale, measures, ...more } = document.layout;
    const units = (pixels) => Math.round((pixels * 100) / scale);
    toolkit.setOptions({
      inputFrom: 'xml', svgViewBox: true, adjustPageHeight: true, breaks: 'auto', header: 'none', footer: 'none',
      pageMarginLeft: 20, pageMarginRight: 20, pageMarginTop: 110, pageMarginBottom: 190,
      spacingSystem: 28, spacingStaff: 10, mnumInterval: 1,
      ...more, scale, pageWidth: units(width), pageHeight: units(height),
    });
    toolkit.select(measures ? { measureRange: measures } : {});
    if (!toolkit.loadData(document.xml)) throw new Error('the engraver cannot read the score');
    current = key;
  }
  return toolkit.getPageCount();
}

// One task after the other, in the order in which they came.
let last = Promise.resolve();
self.onmessage = ({ data }) => {
  last = last.then(async () => {
    try {
      const from = performance.now();
      const answer = await tasks[data.task](data);
      self.postMessage({ call: data.call, took: performance.now() - from, ...answer });
    } catch (error) {
      self.postMessage({ call: data.call, error: String(error?.message ?? error) });
    }
  });
};
