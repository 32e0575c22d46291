// An engraved score. It draws the pages that are near what is seen, frees those that are
// far, and lays marks over them. Views put their own marks on it by `decorate`.

import { engraver, drawn } from './engraver.js';
import { h, s, after } from './dom.js';
import { mapOf } from './page-map.js';
import { t } from './words.js';

let keys = 0;

export class ScoreView {
  // decorate(page) is called for every page that is drawn, with its map and an empty
  // overlay in the same units. onnote(id, event) is called when a note is pressed.
  constructor(host, { label, decorate = () => {}, onnote, scale = 42, pageHeight = 900 }) {
    Object.assign(this, { host, decorate, onnote, scale, pageHeight, pages: [], key: `score-${++keys}` });
    this.element = h('div', { class: 'score', role: 'group', 'aria-label': label, tabindex: '0', data: { busy: t('score.drawing') } });
    host.append(this.element);
    this.near = new IntersectionObserver((entries) => entries.forEach((e) => this.#seen(e)), { rootMargin: '900px 0px' });
    const widthChanged = after(250, () => this.#widthChanged());
    this.resized = new ResizeObserver(([{ contentRect }]) => {
      this.wide = contentRect.width;
      widthChanged();
    });
    this.resized.observe(this.element);
    this.element.addEventListener('pointerdown', (event) => {
      const note = event.target.closest?.('g.note, [data-note]');
      if (note) this.onnote?.(note.dataset.note ?? note.id, event);
    });
  }

  // show engraves a document. With first, so many measures are drawn before the rest is laid
  // out. It resolves when the first page is seen and all pages are laid out.
  async show(xml, { first } = {}) {
    const turn = (this.turn = (this.turn ?? 0) + 1);
    // For the first drawing the browser need not lay the whole page out anew to say how wide it is.
    this.width = (!this.xml && this.wide) || this.element.clientWidth || 800;
    this.xml = xml;
    this.element.setAttribute('aria-busy', 'true');
    if (first) await this.#lay(turn, { measures: first }, 1);
    if (turn === this.turn) await this.#lay(turn, {});
    if (turn === this.turn) this.element.removeAttribute('aria-busy');
  }

  async #lay(turn, more, most = Infinity) {
    const layout = { ...this.layout, width: this.width, height: this.pageHeight, scale: this.scale, ...more };
    const { pages, svg } = await engraver.load(this.key, this.xml, layout);
    if (turn !== this.turn) return;
    performance.mark('engraver-answered');
    const first = drawn(svg);
    this.near.disconnect();
    this.pages = Array.from({ length: Math.min(pages, most) }, (_, i) => ({ number: i + 1, element: h('div', { class: 'score-page' }) }));
    this.element.replaceChildren(...this.pages.map((p) => p.element));
    if (!this.pages.length) return;
    this.#put(this.pages[0], first);
    performance.mark('first-page');
    const height = this.pages[0].element.offsetHeight;
    for (const page of this.pages.slice(1)) page.element.style.minHeight = `${height}px`;
    for (const page of this.pages) this.near.observe(page.element);
  }

  #put(page, svg) {
    page.svg = svg;
    page.map = mapOf(svg);
    svg.setAttribute('aria-hidden', 'true');
    const { x, y } = page.map.margin;
    page.overlay = s('g', { transform: `translate(${x}, ${y})` });
    const marks = s('svg', { class: 'marks', viewBox: page.map.viewBox }, page.overlay);
    page.element.style.minHeight = '';
    page.element.replaceChildren(svg, marks);
    this.#decorated(page);
  }

  async #seen({ target, isIntersecting }) {
    const page = this.pages.find((p) => p.element === target);
    if (!page) return;
    if (isIntersecting) await this.draw(page);
    else if (page.svg && this.pages.length > 3) this.#free(page);
  }

  #free(page) {
    page.element.style.minHeight = `${page.element.offsetHeight}px`;
    page.element.replaceChildren();
    page.svg = page.map = page.overlay = undefined;
  }

  async draw(page) {
    if (page.svg || page.drawing) return page.drawing;
    const turn = this.turn;
    page.drawing = engraver.page(this.key, page.number).then((text) => {
      if (turn === this.turn) this.#put(page, drawn(text));
    }).finally(() => { page.drawing = undefined; });
    return page.drawing;
  }

  // drawAll draws every page, as before printing.
  async drawAll() {
    this.near.disconnect();
    for (const page of this.pages) await this.draw(page);
  }

  // mark calls decorate anew for what is drawn, without engraving anything.
  mark() {
    for (const page of this.pages) {
      if (!page.svg) continue;
      page.overlay.replaceChildren();
      this.#decorated(page);
    }
  }

  // signs are the places that are taken on the page.
  #decorated(page) {
    page.signs = [];
    this.decorate(page);
  }

  // note is where a note is on a page that is drawn.
  note(id) {
    for (const page of this.pages) {
      const place = page.map?.notes.get(id);
      if (place) return { ...place, page };
    }
    return undefined;
  }

  // reveal brings a note into sight and says where it is.
  async reveal(id) {
    if (!this.pages.length) return undefined; // nothing is drawn yet
    if (!this.note(id)) {
      const number = await engraver.pageOf(this.key, id);
      if (this.pages[number - 1]) await this.draw(this.pages[number - 1]);
    }
    const place = this.note(id);
    const behavior = matchMedia('(prefers-reduced-motion: reduce)').matches ? 'auto' : 'smooth';
    place?.element.scrollIntoView({ block: 'center', inline: 'nearest', behavior });
    return place;
  }

  async zoom(scale) {
    this.scale = scale;
    if (this.xml) await this.show(this.xml);
  }

  #widthChanged() {
    const width = this.element.clientWidth;
    if (this.xml && width && Math.abs(width - this.width) > 24 && !this.element.closest('[data-printing]')) this.show(this.xml);
  }

  close() {
    this.turn = -1;
    this.near.disconnect();
    this.resized.disconnect();
    engraver.forget(this.key);
    this.element.remove();
  }
}
