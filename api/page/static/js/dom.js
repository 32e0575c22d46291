// Elements are built one by one. No text ever becomes markup.

const SVG = 'http://www.w3.org/2000/svg';

function fill(element, properties, children) {
  for (const [name, value] of Object.entries(properties ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith('on')) element.addEventListener(name.slice(2), value);
    else if (name === 'text') element.textContent = value;
    else if (name === 'value') element.value = value;
    else if (name === 'vars') for (const [v, n] of Object.entries(value)) element.style.setProperty(v, n);
    else if (name === 'data') Object.assign(element.dataset, value);
    else element.setAttribute(name, value === true ? '' : value);
  }
  element.append(...children.flat(Infinity).filter((c) => c !== undefined && c !== null && c !== false));
  return element;
}

export const h = (tag, properties, ...children) => fill(document.createElement(tag), properties, children);

export const s = (tag, properties, ...children) => fill(document.createElementNS(SVG, tag), properties, children);

// button is a button with words, or with a sign and words for screen readers.
export const button = (words, onclick, properties) => h('button', { type: 'button', onclick, ...properties }, words);

export const replace = (element, ...children) => element.replaceChildren(...children.flat(Infinity).filter(Boolean));

// breakable lets a file's name break where its words end, and not within one while there is
// another way.
export const breakable = (name) => name.split(/(?<=[_./\\-])|(?<=\p{Ll})(?=\p{Lu})/u).flatMap((part, i) => (i ? [h('wbr', {}), part] : [part]));

// after waits until a burst of calls is over.
export function after(milliseconds, work) {
  let timer;
  return (...given) => {
    clearTimeout(timer);
    timer = setTimeout(() => work(...given), milliseconds);
  };
}

// whenIdle waits until there is nothing more urgent to do, a moment at most.
export const whenIdle = (work) => (globalThis.requestIdleCallback ? requestIdleCallback(work, { timeout: 300 }) : setTimeout(work, 50));

// keepOpen draws a part anew and opens again what was open in it, unless that is not wanted.
export function keepOpen(container, wanted, draw) {
  const words = (selector) => [...container.querySelectorAll(selector)].map((s) => s.textContent);
  const open = wanted ? new Set(words('details[open]:not(.menu) > summary')) : new Set();
  draw();
  for (const s of container.querySelectorAll('details:not(.menu) > summary')) if (open.has(s.textContent)) s.parentElement.open = true;
}

const nameOf = (element) => element.id || element.ariaLabel || element.textContent;

// keepFocus draws a part anew and puts the focus back where it was: on what has the same
// name now, else on the element given.
export function keepFocus(container, draw, otherwise) {
  const focused = document.activeElement;
  const inside = container.contains(focused) && focused !== container;
  const name = inside && nameOf(focused);
  draw();
  if (!inside || container.contains(document.activeElement)) return;
  const same = [...container.querySelectorAll('button, summary, select, input, a')].find((e) => nameOf(e) === name && !e.disabled);
  (same ?? otherwise?.() ?? container.querySelector('button:not(:disabled)'))?.focus({ preventScroll: true });
}
