// What can be carried away: the phrase as MusicXML and as MIDI.

import { h, button } from './dom.js';
import { t } from './words.js';
import { form, post } from './service.js';

export function saved(view) {
  const get = async (type, ending) => {
    const answer = await post('/v1/voicings', form(view.score, view.fields({ ids: undefined, notes: undefined, annotate: undefined })), type);
    const link = h('a', { href: URL.createObjectURL(await answer.blob()), download: `${t('lead.file')}${ending}` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  };
  return h('details', { class: 'menu' }, h('summary', { class: 'button' }, t('download.title')),
    h('ul', {},
      h('li', {}, button('MusicXML', () => get('application/vnd.recordare.musicxml+xml', '.musicxml'))),
      h('li', {}, button('MIDI', () => get('audio/midi', '.mid')))));
}
