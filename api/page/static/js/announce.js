// What happens is said to screen readers too.

import { h } from './dom.js';

const place = h('div', { class: 'said', 'aria-live': 'polite', role: 'status' });
document.body.append(place);

export function announce(sentence) {
  place.textContent = '';
  setTimeout(() => { place.textContent = sentence; }, 30);
}
