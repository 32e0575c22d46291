package partwriting

import (
	"fmt"
	"strings"
)

// Phrase names a sentence about voicing or mending. It has placeholders in braces.
type Phrase string

// The phrases. Those about a change name {first} and {second} voice.
const (
	LeapsFar        Phrase = "leaps-far"         // and {interval}
	LeapsDiminished Phrase = "leaps-diminished"  // and {interval}
	StandsClose     Phrase = "stands-close"      // a second apart
	FifthToWatch    Phrase = "fifth-to-watch"    // one more would be parallel
	OctaveToWatch   Phrase = "octave-to-watch"   // one more would be parallel
	FifthAgain      Phrase = "fifth-again"       // would be parallel in {chords}
	OctaveAgain     Phrase = "octave-again"      // would be parallel in {chords}
	PositionChanges Phrase = "position-changes"  // close to open or back
	VoicesOverlap   Phrase = "voices-overlap"    // past the other's last note
	VoicesMeet      Phrase = "voices-meet"       // in a unison
	LineStays       Phrase = "line-stays"        // what the top line does
	LineRises       Phrase = "line-rises"        // and goes on
	LineFalls       Phrase = "line-falls"        // and goes on
	LineTurnsUp     Phrase = "line-turns-up"     // after it fell
	LineTurnsDown   Phrase = "line-turns-down"   // after it rose
	CannotStand     Phrase = "cannot-stand"      // the chord {chord}
	CannotAgree     Phrase = "cannot-agree"      // the chord {chord} with {rule}
	CannotFollow    Phrase = "cannot-follow"     // the chord {chord} after {previous}
	BreaksAt        Phrase = "breaks-at"         // {rule} at the chord {chord}
	OpensFreed      Phrase = "opens-freed"       // {voice} not given {pitch} in {chord}
	OpensInverted   Phrase = "opens-inverted"    // {reading} as the chord {chord}
	ChordForEnding  Phrase = "chord-for-ending"  // {chord}: {was} is {now}, for {ending}
	ChordJoined     Phrase = "chord-joined"      // {chord}, {was}, with the next
	WaysToVoice     Phrase = "ways-to-voice"     // above voicings side by side
	WaysToHarmonize Phrase = "ways-to-harmonize" // above harmonizations side by side
	KeyHeard        Phrase = "key-heard"         // {key}, that the signature does not say
	KeyChanges      Phrase = "key-changes"       // to {key} in {measure}
	SungFigures     Phrase = "sung-figures"      // lyrics under the bass that are its figures
	NoSungFigures   Phrase = "no-sung-figures"   // {syllable} in {measure} is none
	UnfiguredBass   Phrase = "unfigured-bass"    // each note carries its triad
	TuneFinal       Phrase = "tune-final"        // {final} is no note of the tonic triad of {key}; {other} may be meant
	TuneModal       Phrase = "tune-modal"        // {note} and never {usual} over {final}, harmonized in {key}; {chord} may be meant
	FifthGiven      Phrase = "fifth-given"       // {chord} in {measure} is voiced as {plain}
	RepeatsLeft     Phrase = "repeats-left"      // out of the sheets of a task
	SmallNotesLeft  Phrase = "small-notes-left"  // {number} grace and cue notes
	LevelOf         Phrase = "level-of"          // {number} of {all}, plain to florid
	FewerLevels     Phrase = "fewer-levels"      // {number}, of {all} asked for
	DecorationKey   Phrase = "decoration-key"    // what the signs of added notes mean
	AsWritten       Phrase = "as-written"        // above a score that was mended
	MendedVersion   Phrase = "mended-version"    // above the only mended version
	MendedVersionN  Phrase = "mended-version-n"  // above the mended version {number}
	ChangedNote     Phrase = "changed-note"      // {voice}: {to}, was {from}
	CommonToneKept  Phrase = "common-tone-kept"  // what the sign = means
	AgainstTheBass  Phrase = "against-the-bass"  // what the sign against the bass means
	LeadingToneSign Phrase = "leading-tone-sign" // the abbreviation on a sheet
	LeadingToneKey  Phrase = "leading-tone-key"  // what the abbreviation means
	SeventhSign     Phrase = "seventh-sign"      // what 7 means on a sheet
	GoesUp          Phrase = "goes-up"
	GoesDown        Phrase = "goes-down"
	Stays           Phrase = "stays"
	AllAgainst      Phrase = "all-against" // the sign for all voices against the bass

	HandInIncomplete Phrase = "hand-in-incomplete" // why no mark is proposed
	FewerVoices      Phrase = "fewer-voices"       // {has} of {wants} of an exercise

	TextureRead  Phrase = "texture-read"  // {texture}
	TextureNamed Phrase = "texture-named" // {texture}
	SetSuits     Phrase = "set-suits"     // {set}
	SetNamed     Phrase = "set-named"     // {set}

	// What distinguishes one voicing from others.
	EndsOnRoot    Phrase = "ends-on-root"
	EndsOnThird   Phrase = "ends-on-third"
	EndsOnFifth   Phrase = "ends-on-fifth"
	EndsOnSeventh Phrase = "ends-on-seventh"
	MostlyClose   Phrase = "mostly-close"   // in three chords of four or more
	MostlyOpen    Phrase = "mostly-open"    // in three chords of four or more
	CloseAndOpen  Phrase = "close-and-open" // neither
	ContraryOuter Phrase = "contrary-outer" // in {number} of {all} changes
	TopLine       Phrase = "top-line"       // from {from} to {to}
	TopNote       Phrase = "top-note"       // {to} in chord {chord}, not {from}
	OtherChord    Phrase = "other-chord"    // the chord {chord}
	CostsMore     Phrase = "costs-more"     // by {cost}

	OtherRoots     Phrase = "other-roots"     // {number} of {all} chords
	PrimaryOnly    Phrase = "primary-only"    // I, IV and V throughout
	ForeignChords  Phrase = "foreign-chords"  // {number} with notes outside the scale, {first}
	InvertedChords Phrase = "inverted-chords" // {number} not in root position, {first}

	// The table of ways from one chord to the next: its groups, its columns, and what
	// stands around it.
	WayKeepCommon  Phrase = "way-keep-common"
	WayAgainstBass Phrase = "way-against-bass"
	WaySimilarUp   Phrase = "way-similar-up"
	WaySimilarDown Phrase = "way-similar-down"
	WayMixed       Phrase = "way-mixed"
	WaysFrom       Phrase = "ways-from"    // {from}, {notes}, to {to}
	WaysNone       Phrase = "ways-none"    // where there is no arrangement
	WaysHeld       Phrase = "ways-held"    // above the phrase with the first way held
	WayCosts       Phrase = "way-costs"    // above a column, as those that follow
	WayTopLine     Phrase = "way-top-line" // what the top voice does
	WayPhrase      Phrase = "way-phrase"   // what the whole phrase costs
	WayOpens       Phrase = "way-opens"    // chords that can follow
	WayCloses      Phrase = "way-closes"   // chords that cannot
	WayLookAt      Phrase = "way-look-at"
	WayConsider    Phrase = "way-consider" // all of these
	NoteKept       Phrase = "note-kept"    // {note}
	BreaksOne      Phrase = "breaks-one"   // one rule
	BreaksSome     Phrase = "breaks-some"  // {number} rules
)

// Phrases lists all phrases.
var Phrases = []Phrase{
	LeapsFar, LeapsDiminished, StandsClose, FifthToWatch, OctaveToWatch, FifthAgain, OctaveAgain, PositionChanges, VoicesOverlap, VoicesMeet,
	LineStays, LineRises, LineFalls, LineTurnsUp, LineTurnsDown,
	CannotStand, CannotAgree, CannotFollow, BreaksAt, OpensFreed, OpensInverted, ChordForEnding, ChordJoined, WaysToVoice, WaysToHarmonize, KeyHeard, KeyChanges, SungFigures, NoSungFigures, UnfiguredBass, TuneFinal, TuneModal, FewerVoices, FifthGiven, RepeatsLeft, SmallNotesLeft, LevelOf, FewerLevels, DecorationKey, AsWritten, MendedVersion, MendedVersionN, ChangedNote,
	CommonToneKept, AgainstTheBass, LeadingToneSign, LeadingToneKey, SeventhSign, GoesUp, GoesDown, Stays, AllAgainst,
	TextureRead, TextureNamed, SetSuits, SetNamed,
	EndsOnRoot, EndsOnThird, EndsOnFifth, EndsOnSeventh, MostlyClose, MostlyOpen, CloseAndOpen, ContraryOuter, TopLine, TopNote, OtherChord, CostsMore,
	OtherRoots, PrimaryOnly, ForeignChords, InvertedChords,
	WayKeepCommon, WayAgainstBass, WaySimilarUp, WaySimilarDown, WayMixed, WaysFrom, WaysNone, WaysHeld,
	WayCosts, WayTopLine, WayPhrase, WayOpens, WayCloses, WayLookAt, WayConsider, NoteKept, BreaksOne, BreaksSome,
	"problem-voice-missing",
	"problem-voice-silent",
	"problem-voice-stops",
	"problem-voice-blank",
	"problem-inner-voices-missing",
	"problem-melody-alone",
	"problem-measures-empty",
	"problem-measure-short",
	"problem-measure-long",
	"problem-key-signature",
	"problem-leading-tone-never-raised",
	"problem-voices-swapped",
	"problem-octave-away",
	"problem-clef",
	"problem-given-changed",
	"problem-given-missing",
	HandInIncomplete,
}

// Word returns a term of a closed set, such as the name of a texture.
func (c *Catalog) Word(w Word) string { return c.Words[w] }

// Phrase returns a phrase with its placeholders filled, given as pairs of name and
// value; values are put into words as those of messages are.
func (c *Catalog) Phrase(p Phrase, pairs ...any) string {
	text := c.Phrases[p]
	for i := 0; i+1 < len(pairs); i += 2 {
		text = strings.ReplaceAll(text, fmt.Sprintf("{%v}", pairs[i]), c.render(pairs[i+1]))
	}
	return text
}
