// Draws notes in a worker. The engraver's drawings are the only markup that the page
// takes from anywhere, and it takes nothing but shapes and words from them.

import { address } from './address.js';
import { mapOf } from './page-map.js';

const policy = globalThis.trustedTypes?.createPolicy('engraving', {
  createScriptURL: (url) => url,
  createHTML: (text) => text,
}) ?? { createScriptURL: (url) => url, createHTML: (text) => text };

const shapes = new Set(['svg', 'g', 'defs', 'symbol', 'use', 'path', 'rect', 'polygon', 'polyline', 'ellipse', 'circle', 'line', 'text', 'tspan', 'desc', 'title']);
const attributes = /^(id|class|d|x|y|x1|x2|y1|y2|cx|cy|r|rx|ry|width|height|points|transform|viewBox|overflow|fill|stroke|opacity|stroke-[a-z]+|fill-[a-z]+|font-[a-z]+|text-[a-z]+|data-[a-z-]+|xmlns(:xlink)?)$/;

// known are the names of attributes that were met, and whether each may stay.
const known = new Map();

function mayStay(element, name) {
  if (name === 'href' || name === 'xlink:href') return element.getAttribute(name).startsWith('#');
  if (!known.has(name)) known.set(name, attributes.test(name));
  return known.get(name);
}

// Signs that stand among words are those of a music font (SMuFL 1.4), which the page does not
// have: other fonts have them in Unicode's own places.
const signs = {
  '\ue260': '♭', '\ue261': '♮', '\ue262': '♯', '\ue263': '𝄪', '\ue264': '♭♭', '\uea64': '♭', '\uea65': '♮', '\uea66': '♯',
  '\ueca2': '𝅝', '\ueca3': '𝅗𝅥', '\ueca5': '♩', '\ueca7': '♪', '\uecb7': '.', '\ue047': '𝄋', '\ue048': '𝄌',
  ...Object.fromEntries([...'0123456789'].map((figure, i) => [String.fromCharCode([0xea50, 0xea51, 0xea52, 0xea54, 0xea55, 0xea57, 0xea5b, 0xea5d, 0xea60, 0xea61][i]), figure])),
};

// drawn makes elements of a drawing. Anything unknown is left out.
export function drawn(text) {
  const plain = text.replace(/<style[\s\S]*?<\/style>/g, '').replace(/[\ue000-\uf8ff]/g, (sign) => signs[sign] ?? sign);
  const svg = new DOMParser().parseFromString(policy.createHTML(plain), 'image/svg+xml').documentElement;
  for (const element of svg.querySelectorAll('*')) {
    if (!shapes.has(element.localName)) {
      element.remove();
      continue;
    }
    for (const name of element.getAttributeNames()) if (!mayStay(element, name)) element.removeAttribute(name);
  }
  return document.adoptNode(svg);
}

class Engraver {
  #worker;
  #waiting = new Map();
  #next = 1;

  // took is how long the worker took to lay a document out and to draw its first page, the
  // last time, in milliseconds.
  took = {};

  // practised resolves when the engraver is as fast as it becomes.
  practised = new Promise((resolve) => { this.hasPractised = resolve; });

  // ready resolves when something can be drawn; the first call starts the engraver.
  ready() {
    this.start ??= this.#ask('start', {});
    return this.start;
  }

  // load lays a document out, says on how many pages, and draws the first. Width and height
  // are those of a page, in pixels at the scale (in percent) given.
  async load(key, xml, layout) {
    await this.ready();
    const answer = await this.#ask('load', { key, xml, layout });
    this.took = answer.took;
    return answer;
  }

  async page(key, number) { return (await this.#ask('page', { key, number })).svg; }

  // pageOf is the page on which an element stands, 0 for none.
  async pageOf(key, id) { return (await this.#ask('pageOf', { key, id })).page; }

  forget(key) { if (this.#worker) this.#ask('forget', { key }); }

  #ask(task, given) {
    this.#worker ??= this.#begin();
    const call = this.#next++;
    return new Promise((resolve, reject) => {
      this.#waiting.set(call, { resolve, reject });
      this.#worker.postMessage({ call, task, ...given });
    });
  }

  // #practise makes elements of a drawing over and over, which gets faster as engraving does,
  // and no more once there is real work.
  async #practise(svg) {
    for (let turns = 20; turns > 0 && svg && !this.#waiting.size; turns--) {
      mapOf(drawn(svg));
      await new Promise((resolve) => { setTimeout(resolve); });
    }
    this.hasPractised();
  }

  #begin() {
    const worker = new Worker(policy.createScriptURL(address('js/engraver-worker.js')), { type: 'module' });
    worker.onmessage = ({ data }) => {
      if (data.practised !== undefined) {
        this.#practise(data.practised);
        return;
      }
      const { resolve, reject } = this.#waiting.get(data.call);
      this.#waiting.delete(data.call);
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
