package markup

import (
	"slices"
	"strings"
)

// standardNames are the names in the order of their numbers: those with a
// constant, then the rest of the W3C MusicXML 4.0 element and attribute lists,
// which are looked up as fast and need no memory in each tree.
var standardNames = slices.Concat(knownNames[:], strings.Fields(furtherNames))

const furtherNames = `
abbreviated above accelerate accent accidental-mark accidental-text accord accordion-high accordion-low
accordion-middle accordion-registration additional after-barline after-jump appearance approach arrangement
arrow arrow-direction arrow-style arrowhead artificial assess attack attribute barre base-pitch bass-separator
beat-repeat beat-unit-tied beater bend bend-alter bezier-offset bezier-offset2 bezier-x
bezier-x2 bezier-y bezier-y2 blank-page bookmark bottom-margin bottom-staff bracket bracket-degrees brass-bend
capo cautionary circular-arrow concert-score credit-image credit-symbol damp damp-all damper-pedal dash-length
dashed-circle defaults delayed-inverted-turn delayed-turn departure detached-legato dir directive display-text
distance doit double-tongue down-bow editorial effect element elevation enclosure encoder encoding-date
encoding-description end-dynamics end-length ensemble except-voice eyeglasses f falloff fan feature ff fff
ffff fffff ffffff filled fingering fingernails first first-beat first-fret flip font-family font-size
font-style font-weight footnote for-part forward-repeat fp frame frame-frets frame-note frame-strings fret fz
glass glissando glyph golpe group group-abbreviation group-abbreviation-display group-barline group-link
group-name group-name-display group-symbol group-time grouping half-muted halign hammer-on hand handbell
harmon-closed harmon-mute harmonic haydn heel height hole hole-closed hole-shape hole-type humming image
instrument-abbreviation instrument-change instrument-link instrument-name instrument-sound instruments
inverted-mordent inverted-turn inverted-vertical-turn ipa justify last-beat latency laughing left-divider
left-margin letter-spacing level line line-detail line-end line-height line-length line-shape line-through
line-type line-width link listen listening long lyric-font lyric-language make-time measure-distance
measure-layout measure-numbering member-of membrane metal metronome-arrows metronome-beam
metronome-dot metronome-note metronome-relation metronome-tied metronome-tuplet metronome-type mf midi-bank
midi-channel midi-device midi-instrument midi-name midi-program midi-unpitched millimeters mordent mp
multiple-rest-always multiple-rest-range music-font mute n natural new-page new-system niente non-arpeggiate
normal-dot note-size notehead-text open open-string opus orientation other-appearance other-articulation
other-dynamics other-listen other-listening other-notation other-ornament other-percussion other-play
other-technical overline p page page-height page-layout page-margins page-number page-width pan parentheses
part-abbreviation-display part-clef part-link part-symbol part-transpose pedal pedal-alter pedal-step
pedal-tuning percussion pf pitched pizzicato play player player-name plop pluck plus-minus port
position pp ppp pppp ppppp pppppp pre-bend principal-voice print-dot print-frame print-leger print-lyric
pull-off reference relation relative-x relative-y release repeater rf rfz right-divider right-margin rotation
scaling schleifer scoop scordatura second second-beat semi-pitched separator sf sffz sfp sfpp sfz sfzp shake
shape show-frets show-number show-type slash-dot slash-type slashes slide smear smufl snap-pizzicato
soft-accent soft-pedal solo sostenuto-pedal sounding-pitch source space-length spiccato spread staccatissimo
staccato stack-degrees staff-distance staff-divide staff-layout staff-size staff-spacing staff-type start-note
steal-time-following steal-time-previous stick stick-location stick-material stick-type stopped straight
stress string string-mute strong-accent substitution swing swing-style swing-type sync system system-distance
system-dividers system-layout system-margins tap technical tenths tenuto text-x text-y thumb-position
time-relation timpani tip toe top-margin top-staff top-system-distance touching-pitch trill-mark trill-step
triple-tongue tuning-alter tuning-octave tuning-step tuplet-actual tuplet-dot tuplet-normal tuplet-number
tuplet-type turn two-note-turn unbroken underline unplayed unstress up-bow use-dots use-stems use-symbols
valign vertical-turn virtual-instrument virtual-library virtual-name volume wait wavy-line wedge winged
with-bar wood xlink:actuate xlink:href xlink:role xlink:show xlink:title xlink:type xml:space xmlns
xmlns:xlink xmlns:xsi xsi:noNamespaceSchemaLocation
`
