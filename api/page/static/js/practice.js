// A small piece with the signs that scores for voices have, for the engraver to practise on.

const note = (step, octave, duration, type, more = {}) => `<note>${more.chord ? '<chord/>' : ''}${step === 'R' ? '<rest/>' : `<pitch><step>${step[0]}</step>${more.alter ? `<alter>${more.alter}</alter>` : ''}<octave>${octave}</octave></pitch>`}
<duration>${duration}</duration>${more.tie ? `<tie type="${more.tie}"/>` : ''}<voice>${more.voice ?? 1}</voice><type>${type}</type>${more.dot ? '<dot/>' : ''}
${more.accidental ? `<accidental>${more.accidental}</accidental>` : ''}${more.stem ? `<stem>${more.stem}</stem>` : ''}<staff>${more.staff ?? 1}</staff>${more.beam ? `<beam number="1">${more.beam}</beam>` : ''}
${more.notations || more.tie ? `<notations>${more.tie ? `<tied type="${more.tie}"/>` : ''}${more.notations ?? ''}</notations>` : ''}${more.lyric ? `<lyric number="1"><syllabic>single</syllabic><text>${more.lyric}</text></lyric>` : ''}</note>`;

const upper = (i) => [
  note('E', 5, 2, 'quarter', { stem: 'up', lyric: 'la' }),
  note('F', 5, 1, 'eighth', { stem: 'up', beam: 'begin', alter: 1, accidental: 'sharp', notations: '<slur type="start" number="1"/>', lyric: 'la' }),
  note('G', 5, 1, 'eighth', { stem: 'up', beam: 'end', notations: '<slur type="stop" number="1"/>' }),
  note('A', 5, 3, 'quarter', { stem: 'up', dot: true, lyric: 'la' }),
  note('B', 4, 1, 'eighth', { stem: 'up', alter: -1, accidental: 'flat', notations: i % 4 === 3 ? '<fermata type="upright"/>' : '' }),
].join('');

const lower = (i) => [
  note('C', 4, 4, 'half', { voice: 2, stem: 'down', tie: i % 2 ? 'stop' : undefined }),
  note('R', 0, 2, 'quarter', { voice: 2 }),
  note('C', 4, 2, 'quarter', { voice: 2, stem: 'down', tie: i % 2 ? undefined : 'start' }),
].join('');

const bass = () => [
  note('C', 3, 2, 'quarter', { voice: 5, staff: 2, stem: 'down' }),
  note('E', 3, 2, 'quarter', { voice: 5, staff: 2, stem: 'down', chord: true }),
  note('D', 3, 1, 'eighth', { voice: 5, staff: 2, stem: 'down', beam: 'begin', accidental: 'natural' }),
  note('E', 3, 1, 'eighth', { voice: 5, staff: 2, stem: 'down', beam: 'end' }),
  note('G', 2, 4, 'half', { voice: 5, staff: 2, stem: 'up' }),
].join('');

const attributes = `<attributes><divisions>2</divisions><key><fifths>2</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>
<clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>
<direction placement="below"><direction-type><dynamics><p/></dynamics></direction-type><staff>1</staff></direction>`;

const back = '<backup><duration>8</duration></backup>';

const measure = (i) => `<measure number="${i + 1}">${i ? '' : attributes}${upper(i)}${back}${lower(i)}${back}${bass()}</measure>`;

export const practice = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list>
<part id="P1">${Array.from({ length: 16 }, (_, i) => measure(i)).join('')}</part></score-partwise>`;
