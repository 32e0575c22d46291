package voicing

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Progression is a row of chords with their durations, as a text gives it.
type Progression struct {
	Chords []ProgressionChord
	Layout Layout
	// Figures are those of a given bass, as they are written; nil where none were given.
	Figures []theory.GivenFigures
	// harmonized is set where a model has weighed the chords of a given line.
	harmonized bool
	// Changed says, a clause each, which chords were made others than they are written.
	Changed []partwriting.Said
}

// ProgressionChord is one chord of a progression.
type ProgressionChord struct {
	// Reading is the chord; where there are Choices, one of which is to be taken,
	// it names the key only.
	Reading  harmony.Reading
	Choices  []Choice
	Duration theory.Fraction
	// Open is set where the chord may be any that the notes allow ([Progression.Harmonize]).
	Open bool
	// after is what it costs to come to a chord from one before it, where a model has weighed
	// both.
	after Syntax
	// weary are notes that voices are not to take ([Slot]).
	weary []weary
	// Fixed are notes that are given, from the top voice down, nil where a voice
	// is free; Bass is that of the lowest voice.
	Fixed []*theory.Pitch
	Bass  *theory.Pitch
	// Top are the notes that the top voice may take; none means any.
	Top []theory.PitchClass
	// PhraseEnd closes a phrase.
	PhraseEnd bool
	// Late are members of the chord that come late; Moving is what given lines do meanwhile.
	Late   []Late
	Moving Moving
	// besides are further notes of a given tune that the chord is to hold ([Tune.Under]).
	besides []theory.PitchClass
	// Text is the chord as it was written, Line where, from 1.
	Text string
	Line int
}

// ProgressionError says what could not be read and where.
type ProgressionError struct {
	Line    int
	Problem string
}

// Error returns "line 1: …".
func (e *ProgressionError) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Problem) }

var metreLike = regexp.MustCompile(`^\d+/\d+$`)

var measureLine = regexp.MustCompile(`(?m)^\s*m\d`)

// ReadProgression reads a progression from text. Text with measures (lines that
// begin with m and a number) is RomanText (Tymoczko, Gotham, Cuthbert and Ariza
// 2019). Anything else is a row of numerals in RomanText spelling, or of chord
// symbols, each lasting one beat:
//
//	4/4 G: I vi ii65 V7*2 I || e: i iv6 V
//	Bb: Bb Gm Cm7/Eb F7 Bb
//
// A key with a colon comes first and wherever it changes, a metre before it if
// it is not 4/4, *N makes a chord last N beats, || closes a phrase. Single bar lines
// stand where measures end unless a phrase ends there, the first perhaps behind a pickup; where no duration is written,
// what stands between two of them may fill a measure in equal parts. A label that asks for more than a triad or seventh, such as
// V9, is an error ([harmony.ExactNumeral]). Braces give notes from the top voice down, a dash
// leaves a voice free: V7{D5,-,F4}*2.
//
// After the word bass come bass notes with their figures, after the words soprano and
// unfigured notes of a melody or of a bass whose chords are to be chosen; after chords,
// chords again. Dashes join
// figures that follow one another over a note, in equal times; a dash alone holds the chord
// before under the note. A chord under a melody lasts over its short notes ([Tune]). N.C. among chords is silence:
//
//	g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/# G2*2
//	C: bass C3 D3/- E3/6 F3 G2/4-3*2 C3/94-83*2
//	G: soprano B4 C5 A4 G4*2
//	D: unfigured D3 E3 F#3 G3 A3 A2 D3*2
func ReadProgression(text string) (*Progression, error) {
	if measureLine.MatchString(text) {
		return fromRomanText(text)
	}
	r := &rowReader{progression: &Progression{}}
	if err := r.row(text); err != nil {
		return nil, err
	}
	pickup, lengths, err := r.measures()
	if err != nil {
		return nil, err
	}
	if lengths != nil {
		r = &rowReader{progression: &Progression{}, lengths: lengths}
		if err := r.row(text); err != nil {
			return nil, err
		}
	}
	r.progression.Layout.Pickup = pickup
	r.follow()
	if err := r.finishBass(); err != nil {
		return nil, err
	}
	r.keepBass()
	if r.given == bassLine {
		r.progression.NameSixFours()
	}
	if late, k, found := r.progression.Unprepared(); found {
		c := &r.progression.Chords[k]
		return nil, &ProgressionError{c.Line, fmt.Sprintf("%q: no voice of the chord before can hold over %v, which goes to %v; put a chord with %v before it, or leave the suspension out", c.Text, late.From, late.To, late.From)}
	}
	if len(r.progression.Chords) == 0 {
		return nil, &ProgressionError{1, "there is no chord; write a key and numerals, such as \"C: I IV V7 I\""}
	}
	return r.progression, nil
}

// rests are what is often written where a chord goes on or nothing sounds.
var rests = []string{"-", "–", "—", "R", "r", "rest", "%"}

// rowReader reads a row of chords word by word.
type rowReader struct {
	progression *Progression
	key         theory.Key
	hasKey      bool
	line        int
	// given is what bare notes are, basses those of a bass line that are not chords yet.
	given  givenLine
	basses []bassNote
	// bassLine are the notes of the bass lines that are chords now, figured counts these.
	bassLine []theory.VoiceNote
	figured  int
	// melody counts the notes of a melody.
	melody int
	// words counts what stands for chords, notes and rests, and at is the onset behind the
	// last of them; timed is set where a duration is written. bars are the bar lines, lengths
	// the duration of each word where these tell it.
	words   int
	at      theory.Fraction
	timed   bool
	bars    []bar
	lengths []theory.Fraction
}

// row reads the words of a text. All errors are [*ProgressionError].
func (r *rowReader) row(text string) error {
	for i, line := range strings.Split(text, "\n") {
		r.line = i + 1
		words := strings.Fields(line)
		for k, word := range words {
			if err := r.word(word); err != nil {
				var placed *ProgressionError
				if errors.As(err, &placed) {
					return placed
				}
				return &ProgressionError{r.line, err.Error() + r.change(word, err, words[k+1:])}
			}
		}
	}
	return nil
}

func (r *rowReader) word(w string) error {
	p := r.progression
	w = strings.TrimRight(w, ",;") // as chords are listed in a sentence
	switch {
	case w == "":
		return nil
	case w == "|":
		r.bar(false)
		return nil
	case w == "||":
		r.bar(true)
		r.endPhrase()
		return nil
	case strings.HasSuffix(w, ":"):
		key, err := theory.ParseKey(strings.TrimSuffix(w, ":"))
		if err != nil {
			return err
		}
		r.key, r.hasKey = key, true
		return nil
	}
	if line, ok := givenLines[w]; ok {
		if r.given == bassLine {
			if err := r.finishBass(); err != nil {
				return err
			}
		}
		r.given = line
		return nil
	}
	if time, ok := readTime(w); ok {
		if len(p.Chords) > 0 || len(r.basses) > 0 || p.Layout.Start.Sign() > 0 {
			return fmt.Errorf("the metre %s must stand before the first chord", w)
		}
		p.Layout.Time = time
		return nil
	}
	if slices.Contains(rests, w) {
		return fmt.Errorf("%q is no chord: write I*2 for a chord of two beats, N.C.*2 for a rest of two", w)
	}
	if metreLike.MatchString(w) {
		return fmt.Errorf("%q is no metre: the upper number is from 1 to 32, the lower one of 1, 2, 4, 8, 16 and 32", w)
	}
	if !r.hasKey {
		return fmt.Errorf("%q stands before a key; begin with one, such as \"C:\" or \"a:\"", w)
	}
	return r.chord(w)
}

// endPhrase closes a phrase behind the last chord or note.
func (r *rowReader) endPhrase() {
	chords := r.progression.Chords
	switch {
	case len(r.basses) > 0:
		r.basses[len(r.basses)-1].chord.PhraseEnd = true
	case len(chords) > 0:
		chords[len(chords)-1].PhraseEnd = true
	}
}

func (r *rowReader) chord(w string) error {
	name, times, counted := strings.Cut(w, "*")
	beats := theory.Whole(1)
	if counted {
		n, err := readBeats(times)
		if err != nil || n.Sign() <= 0 || theory.Whole(64).Less(n) {
			return fmt.Errorf("%q: the number of beats after * must be between 0 and 64, such as 2, 3/2 or 1.5", w)
		}
		beats = n
	}
	c := ProgressionChord{Duration: beats.Mul(r.progression.Layout.time().Beat()), Text: name, Line: r.line}
	if r.words < len(r.lengths) {
		c.Duration = r.lengths[r.words]
	}
	r.words, r.at, r.timed = r.words+1, r.at.Add(c.Duration), r.timed || counted
	bare, err := c.readFixed(name)
	if err != nil {
		return err
	}
	switch {
	case r.given == bassLine:
		return r.bass(bare, c)
	case harmony.IsNoChord(bare) && r.given == noLine:
		r.progression.Rest(c.Duration)
		return nil
	}
	if err := r.read(&c, bare); err != nil {
		return err
	}
	r.progression.Add(c)
	return nil
}

// readBeats reads a number of beats: "2", "3/2" or "1.5".
func readBeats(text string) (theory.Fraction, error) {
	whole, part, decimal := strings.Cut(text, ".")
	if !decimal || len(part) > 3 {
		return theory.ParseFraction(text)
	}
	return theory.ParseFraction(whole + part + "/1" + strings.Repeat("0", len(part)))
}

// read finds out what a word without its notes and beats stands for.
func (r *rowReader) read(c *ProgressionChord, word string) (err error) {
	switch first := len(r.progression.Chords) == 0; r.given {
	case sopranoLine:
		r.melody++
		return c.readMelody(word, r.key, first)
	case unfiguredLine:
		return c.readUnfigured(word, r.key, first)
	}
	c.Reading, err = readChord(word, r.key)
	return err
}

// sounded is the onset behind the last chord.
func (p *Progression) sounded() theory.Fraction {
	at := p.Layout.Start
	for i := range p.Layout.Durations {
		at = at.Add(p.Layout.Durations[i])
	}
	return at
}

// Rest is silent for a while: the chord before lasts so long, and does not sound.
func (p *Progression) Rest(length theory.Fraction) {
	n := len(p.Chords)
	if n == 0 {
		p.Layout.Start = p.Layout.Start.Add(length)
		return
	}
	at := p.sounded()
	p.Layout.Rests = append(p.Layout.Rests, Span{at, at.Add(length)})
	p.Chords[n-1].Duration = p.Chords[n-1].Duration.Add(length)
	p.Layout.Durations[n-1] = p.Chords[n-1].Duration
}

// Add puts a chord behind those that are there.
func (p *Progression) Add(c ProgressionChord) {
	p.Chords = append(p.Chords, c)
	p.Layout.Durations = append(p.Layout.Durations, c.Duration)
	p.Layout.Late = append(p.Layout.Late, c.Late)
}

// readChord reads a numeral, or else a chord symbol, in a key.
func readChord(text string, key theory.Key) (harmony.Reading, error) {
	c, symbolErr := harmony.ParseSymbol(text)
	if symbolErr == nil { // no numeral is spelled as a chord symbol
		return harmony.ReadIn(key, c), nil
	}
	n, err := harmony.ExactNumeral(text, key.Mode)
	if err == nil {
		return harmony.Reading{Key: key, Numeral: n}, nil
	}
	if loss := (*harmony.LossError)(nil); errors.As(err, &loss) {
		return harmony.Reading{}, err
	}
	switch {
	case text != "" && text[0] >= 'A' && text[0] <= 'G':
		return harmony.Reading{}, symbolErr
	}
	return harmony.Reading{}, fmt.Errorf("%w; a chord symbol such as Am7 or F#dim would do as well", err)
}

func readTime(w string) (theory.TimeSignature, bool) {
	top, bottom, found := strings.Cut(w, "/")
	beats, err1 := strconv.Atoi(top)
	kind, err2 := strconv.Atoi(bottom)
	if !found || err1 != nil || err2 != nil || beats < 1 || beats > 32 || kind < 1 || kind > 32 || kind&(kind-1) != 0 {
		return theory.TimeSignature{}, false
	}
	return theory.TimeSignature{Beats: int32(beats), BeatType: int32(kind)}, true
}

// fromRomanText places the entries of a RomanText in time. Where a pivot chord
// is written twice, the new key counts.
func fromRomanText(text string) (*Progression, error) {
	rt, err := harmony.ReadRomanText(text)
	if problem := (*harmony.Problem)(nil); errors.As(err, &problem) {
		return nil, &ProgressionError{problem.Line, problem.Message}
	} else if err != nil {
		return nil, &ProgressionError{1, err.Error()}
	}
	if len(rt.Problems) > 0 {
		return nil, &ProgressionError{rt.Problems[0].Line, rt.Problems[0].Message}
	}
	p := &Progression{}
	starts := map[int]theory.Fraction{}
	var at theory.Fraction
	var placed []theory.Fraction
	measure, time := -1, theory.TimeSignature{}
	for _, e := range rt.Entries {
		if e.Suffix != "" {
			continue // an alternative reading or a second ending repeats its measure
		}
		if measure < 0 {
			p.Layout.Time = e.Time
			if e.Offset.Sign() > 0 {
				p.Layout.Pickup = e.Time.Measure().Sub(e.Offset)
				at = theory.Fraction{}.Sub(e.Offset)
			}
			starts[e.Measure] = at
		} else if e.Measure > measure {
			at = at.Add(time.Measure().Mul(theory.Whole(int64(e.Measure - measure))))
			starts[e.Measure] = at
		}
		measure, time = e.Measure, e.Time
		onset := starts[e.Measure].Add(e.Offset)
		c := ProgressionChord{Reading: e.Reading, PhraseEnd: e.PhraseEnd, Text: e.Text, Line: e.Line}
		if c.Reading.Numeral, err = harmony.ExactNumeral(e.Text, e.Reading.Key.Mode); err != nil {
			return nil, &ProgressionError{e.Line, err.Error()}
		}
		if n := len(placed); n > 0 && placed[n-1] == onset {
			p.Chords[n-1] = c
			continue
		}
		placed = append(placed, onset)
		p.Chords = append(p.Chords, c)
	}
	if len(p.Chords) == 0 {
		return nil, &ProgressionError{1, "there is no numeral after a measure number, such as \"m1 C: I b3 V\""}
	}
	end := at.Add(time.Measure())
	for i := range p.Chords {
		next := end
		if i+1 < len(placed) {
			next = placed[i+1]
		}
		p.Chords[i].Duration = next.Sub(placed[i])
		if p.Chords[i].Duration.Sign() <= 0 {
			return nil, &ProgressionError{p.Chords[i].Line, fmt.Sprintf("%s does not come after the chord before it", p.Chords[i].Text)}
		}
		p.Layout.Durations = append(p.Layout.Durations, p.Chords[i].Duration)
	}
	return p, nil
}

// Problem makes a voicing problem of a progression. Where chords are to be
// chosen, [FunctionalSyntax] weighs them, unless [Progression.Harmonize] has; between chords that are given it does
// not forbid what their author wrote.
func (p *Progression) Problem(style Style) *Problem {
	problem := &Problem{Style: style}
	for k, c := range p.Chords {
		slot := Slot{Choices: c.Choices, after: c.after, weary: c.weary, Top: c.Top, PhraseEnd: c.PhraseEnd, Brief: c.Duration.Less(p.Layout.time().Beat()), Long: p.Layout.time().Beat().Less(c.Duration)}
		if c.Choices == nil {
			slot.Choices = []Choice{{Reading: c.Reading}}
		}
		if c.Choices != nil && !p.harmonized {
			problem.Syntax = FunctionalSyntax
		}
		slot.Fixed = append(slot.Fixed, c.Fixed...)
		slot.Late, slot.Moving = c.Late, c.Moving
		if k > 0 {
			slot.leads = leadsInto(&p.Chords[k-1], &p.Chords[k])
		}
		if c.Bass != nil {
			last := len(style.Voices) - 1
			for len(slot.Fixed) <= last {
				slot.Fixed = append(slot.Fixed, nil)
			}
			slot.Fixed[last] = c.Bass
		}
		problem.Slots = append(problem.Slots, slot)
	}
	if style.MaxSpan == 0 && givesTune(problem.Slots, len(style.Voices)) {
		problem.Style.Weights.Semitone /= 2
		problem.sung = p.harmonized
	}
	return problem
}

// givesTune reports whether the top voice is given in all slots that leave anything open:
// then the inner voices alone can move, and where each semitone weighs most they stand still.
func givesTune(slots []Slot, voices int) (gives bool) {
	for k := range slots {
		fixed := slots[k].Fixed
		switch {
		case len(fixed) == voices && !slices.Contains(fixed, nil): // held
		case len(fixed) == 0 || fixed[0] == nil:
			return false
		default:
			gives = true
		}
	}
	return gives
}
