// Draws notes in a worker. The engraver's drawings are the only markup that the page
// takes from anywhere, and it takes nothing but shapes and words from them.

import { address } from './address.js';

const policy = globalThis.trustedTypes?.createPolicy('engraving', {
  createScriptURL: (url) => url,
  createHTML: (text) => text,
}) ?? { createScriptURL: (url) => url, createHTML: (text) => text };

const shapes = new Set(['svg', 'g', 'defs', 'symbol', 'use', 'path', 'rect', 'polygon', 'polyline', 'ellipse', 'circle', 'line', 'text', 'tspan', 'desc', 'title']);
const attributes = /^(id|class|d|x|y|x1|x2|y1|y2|cx|cy|r|rx|ry|width|height|points|transform|viewBox|overflow|fill|stroke|opacity|stroke-[a-z]+|fill-[a-z]+|font-[a-z]+|text-[a-z]+|data-[a-z-]+|xmlns(:xlink)?)$/;

// drawn makes elements of a drawing. Anything unknown is left out.
export function drawn(text) {
  const plain = text.replace(/<style[\s\S]*?<\/style>/g, '');
  const svg = new DOMParser().parseFromString(policy.createHTML(plain), 'image/svg+xml').documentElement;
  for (const element of svg.querySelectorAll('*')) {
    if (!shapes.has(element.localName)) {
      element.remove();
      continue;
    }
    for (const { name, value } of [...element.attributes]) {
      const link = /^(xlink:)?href$/.test(name) && value.startsWith('#');
      if (!link && !attributes.test(name)) element.removeAttribute(name);
    }
  }
  return document.importNode(svg, true);
}

class Engraver {
  #worker;
  #waiting = new Map();
  #next = 1;

  // isReady tells whether the engraver draws at once.
  isReady = false;

  // took is how long the last task of each kind took in the worker, in milliseconds.
  took = {};

  // ready resolves when something can be drawn; the first call starts the engraver.
  ready() {
    this.start ??= this.#ask('start', {}).then((answer) => {
      this.isReady = true;
      return answer;
    });
    return this.start;
  }

  // load lays a document out and says on how many pages. Width and height are those of
  // a page, in pixels at the scale (in percent) given.
  async load(key, xml, layout) {
    await this.ready();
    return this.#ask('load', { key, xml, layout });
  }

  async page(key, number) { return (await this.#ask('page', { key, number })).svg; }

  // pageOf is the page on which an element stands, 0 for none.
  async pageOf(key, id) { return (await this.#ask('pageOf', { key, id })).page; }

  forget(key) { if (this.#worker) this.#ask('forget', { key }); }

  #ask(task, given) {
    this.#worker ??= this.#begin();
    const call = this.#next++;
    return new Promise((resolve, reject) => {
      this.#waiting.set(call, { resolve, reject, task });
      this.#worker.postMessage({ call, task, ...given });
    });
  }

  #begin() {
    const worker = new Worker(policy.createScriptURL(address('js/engraver-worker.js')), { type: 'module' });
    worker.onmessage = ({ data }) => {
      const { resolve, reject, task } = this.#waiting.get(data.call);
      this.#waiting.delete(data.call);
      this.took[task] = data.took;
      if (data.error) reject(new Error(data.error));
      else resolve(data);
    };
    worker.onerror = (event) => {
      for (const { reject } of this.#waiting.values()) reject(new Error(event.message));
      this.#waiting.clear();
    };
    return worker;
  }
}

export const engraver = new Engraver();
