package musicxml

// noticeCodes lists every code that a [Notice] can have, in alphabetical order, with
// what it means and what reading does about it. Codes are permanent and never used
// again for something else.
var noticeCodes = []struct{ code, says string }{
	{"backup-before-measure", "A backup leads to before the start of its measure; the start is taken."},
	{"chord-not-analyzed", "A chord symbol has a root, bass or degree that is no usable number; that part of it is skipped."},
	{"chord-without-note", "A chord note has no note before it in its measure; it is read as a note of its own."},
	{"container-unlisted", "The container does not name its score; the only one in it is read."},
	{"divisions-missing", "A part has durations and no divisions; they are taken from the types of its notes."},
	{"duration-and-type", "What a note looks like and how long it lasts disagree; the duration is taken."},
	{"duration-missing", "A duration is missing; it is taken from the note's type or the metre."},
	{"encoding-relabeled", "The document is not written in the encoding it declares; it is read all the same."},
	{"figure-not-analyzed", "A figure of a thoroughbass is not a number; it is skipped."},
	{"jump-without-landing", "A dal segno or to coda has no sign to lead to; it is not followed."},
	{"key-signature", "A key signature is not a number of sharps or flats; it is ignored."},
	{"measure-overfull", "A measure holds more than its metre has; all of it is read."},
	{"measure-underfull", "A measure inside the piece holds less than its metre has; the next one follows at once."},
	{"octave-doubling", "A part is doubled at the octave; the doubling is not analyzed."},
	{"offset", "A label's offset is no usable number; the label stays where it stands."},
	{"part-id-repeated", "Parts share an id; each is read as a part of its own."},
	{"part-not-listed", "A part is not in the part-list; it is read all the same."},
	{"part-shorter", "A part has fewer measures than the score; what is missing is silence."},
	{"part-without-music", "The part-list names a part that the score does not have."},
	{"parts-differ", "Parts do not reach equally far in a measure; the longest counts."},
	{"pitch-not-analyzed", "A pitch lies between the semitones or outside any range; it is kept and left out of the analysis, never rounded."},
	{"repeat-inside-measure", "A repeat stands inside a measure; it is not followed."},
	{"staff", "A staff has a number that cannot be; the first staff, or all of them, are taken."},
	{"tablature", "A part is in tablature only; it is set aside."},
	{"tie-loose", "A tie starts or ends with no note on the other side."},
	{"time-signature", "A time signature is no metre; the music is read without one."},
	{"transposition", "A part's transposition is no interval; the semitones are taken, or the part is read as written."},
	{"unpitched", "A part has notes without pitch, which are not analyzed."},
	{"voice-vanishes", "A voice is in every measure and then in none, not even with rests."},
}
