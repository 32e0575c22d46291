// Signs on buttons. Each button has a name in words beside it.

import { s } from './dom.js';

const paths = {
  undo: 'M8 5 3 10l5 5M3.500 10H14a6 6 0 0 1 0 12h-3',
  redo: 'M16 5l5 5-5 5M20.500 10H10a6 6 0 0 0 0 12h3',
  smaller: 'M5 12h14',
  larger: 'M5 12h14M12 5v14',
};

export const icon = (name) => s('svg', { viewBox: '0 0 24 24', class: 'icon-sign', 'aria-hidden': 'true' }, s('path', { d: paths[name] }));
