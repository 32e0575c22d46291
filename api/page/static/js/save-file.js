// Saves what the service answers. It is asked for as all else is, so that whoever came by a
// launch, without a cookie, gets it as well.

import { h, button } from './dom.js';
import { ask } from './service.js';

export function offer(blob, name) {
  const link = h('a', { href: URL.createObjectURL(blob), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

// saveButton asks when it is pressed; refused is told of a problem.
export const saveButton = (words, path, name, refused, accept = '*/*') => button(words, async () => {
  try {
    offer(await (await ask(path, { headers: { Accept: accept } })).blob(), name);
  } catch (problem) {
    refused(problem);
  }
});
