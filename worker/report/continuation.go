package report

import (
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// Continuation is the JSON answer to a [worker.ContinueRequest].
type Continuation struct {
	Engine string `json:"engine"`
	Style  string `json:"style"`
	// RuleSet is the law by which the continuations are judged.
	RuleSet string `json:"rule_set"`
	// Voices are the names of the voices from the top.
	Voices []string      `json:"voices"`
	From   NamedSonority `json:"from"`
	To     NamedChord    `json:"to"`
	// Chord is the place of To in its phrase, from 1, of Chords.
	Chord  int `json:"chord"`
	Chords int `json:"chords"`
	// Then are the chords that [ContinuationOption.Onward] speaks of.
	Then   []NamedChord        `json:"then"`
	Groups []ContinuationGroup `json:"groups"`
}

// NamedChord is a chord without its notes.
type NamedChord struct {
	Key     string `json:"key"`
	Numeral string `json:"numeral"`
	Symbol  string `json:"symbol"`
}

// NamedSonority is a chord with its notes, from the top voice down.
type NamedSonority struct {
	NamedChord
	Pitches []string `json:"pitches"`
}

// ContinuationGroup holds the continuations of one way: first those that break no
// rule, then those with a caution, then those with a fault, each cheapest first.
type ContinuationGroup struct {
	Way     string               `json:"way"`
	Options []ContinuationOption `json:"options"`
}

// ContinuationOption is one way to go on.
type ContinuationOption struct {
	Pitches []string `json:"pitches"`
	Cost    float64  `json:"cost"`
	Moves   []Move   `json:"moves"`
	// TopLine says what the top voice does: stays, rises or falls. Line is the same in
	// words, which say where it turns back after the move before.
	TopLine string `json:"top_line"`
	Line    string `json:"line"`
	// Findings are what the rule set says of it, the gravest first.
	Findings []OptionFinding `json:"findings"`
	// Awkward is empty where nothing needs a second look.
	Awkward []Awkward `json:"awkward"`
	// Onward counts, in the order of Then, in how many arrangements each can
	// follow without a fault; 0 closes that way.
	Onward []int `json:"onward"`
	// Closed has an entry for each chord of Then that cannot follow.
	Closed []ClosedChord `json:"closed"`
	// Rest is how the phrase goes on best after this option, chord by chord to its end;
	// Phrase is what the whole phrase costs then and PhraseBroken how many rules it breaks.
	Rest         []NamedSonority `json:"rest"`
	Phrase       float64         `json:"phrase"`
	PhraseBroken int             `json:"phrase_broken"`
	// Hold is the phrase with this option held, to ask about the next change.
	Hold string `json:"hold"`
	// Number counts the options through all groups, from 1: the option stands in the
	// measure of that number of the sheet of ways. FromIDs and IDs are those of the notes
	// there, from the top voice down; none where they were not asked for.
	Number  int      `json:"number"`
	FromIDs []string `json:"from_ids,omitempty"`
	IDs     []string `json:"ids,omitempty"`
}

// ClosedChord is a chord that cannot follow a continuation without a fault.
type ClosedChord struct {
	Numeral string `json:"numeral"`
	// Pitches are the least bad way there, from the top voice down, and Findings what the
	// rule set says of it; both are empty where the chord has no arrangement at all.
	Pitches  []string        `json:"pitches"`
	Findings []OptionFinding `json:"findings"`
}

// OptionFinding is what a rule says of a continuation.
type OptionFinding struct {
	Rule     string   `json:"rule"`
	Severity string   `json:"severity"`
	Voices   []string `json:"voices"`
	Message  string   `json:"message"`
}

// Awkward is something that breaks no rule and deserves a look.
type Awkward struct {
	Kind   string   `json:"kind"`
	Voices []string `json:"voices"`
	Says   string   `json:"says"`
}

func namedChord(r harmony.Reading) NamedChord {
	return NamedChord{Key: r.Key.Abbreviation(), Numeral: r.Numeral.Text(r.Key.Mode), Symbol: r.Symbol()}
}

// NewContinuation answers how a sonority can go on, by the options that there are. The top
// voice came to it from before, nil at the beginning.
func NewContinuation(version string, q *voicing.Question, options []voicing.Option, before *theory.Pitch, catalog *partwriting.Catalog) *Continuation {
	style := &q.Style
	r := &Continuation{
		Engine: version, Style: style.Name, RuleSet: q.RuleSet.Title(), From: NamedSonority{namedChord(q.From.Reading), PitchNames(q.From.Pitches)}, To: namedChord(q.To),
		Chord: 2, Chords: 2, Then: []NamedChord{}, Groups: []ContinuationGroup{},
	}
	for _, v := range style.Voices {
		r.Voices = append(r.Voices, v.Name)
	}
	for _, t := range q.Onward {
		r.Then = append(r.Then, namedChord(t))
	}
	look := outlook{q: q, catalog: catalog}
	if before != nil {
		look.came = q.From.Pitches[0].Semitones() - before.Semitones()
	}
	if len(options) > 0 {
		look.ahead = voicing.NewLookahead(q)
	}
	for i := range options {
		if i == 0 || options[i].Way != options[i-1].Way {
			r.Groups = append(r.Groups, ContinuationGroup{Way: options[i].Way.String()})
		}
		g := &r.Groups[len(r.Groups)-1]
		o := look.option(&options[i])
		o.Number = i + 1
		g.Options = append(g.Options, o)
	}
	return r
}

// outlook reports options with what lies beyond them.
type outlook struct {
	q       *voicing.Question
	ahead   *voicing.Lookahead
	catalog *partwriting.Catalog
	// came is how the top voice moved before, in semitones.
	came int
}

func (l *outlook) option(o *voicing.Option) ContinuationOption {
	style := &l.q.Style
	ahead := l.ahead.From(o)
	out := ContinuationOption{
		Pitches: PitchNames(o.Pitches), Cost: Semitones(o.Cost), Moves: moveReports(o.Moves, style),
		TopLine: topLine(o.Moves[0].Interval.Semitones), Line: l.catalog.Phrase(l.line(o.Moves[0].Interval.Semitones)),
		Rest: []NamedSonority{}, Findings: optionFindings(o, l.q, l.catalog),
		Awkward: []Awkward{}, Onward: append([]int{}, o.Onward...), Closed: l.closed(o, ahead),
	}
	for _, a := range o.Awkward {
		voices := []string{}
		for _, v := range a.Voices {
			voices = append(voices, style.Voices[v].Name)
		}
		if says := l.awkward(&a, o, voices, ahead); says != "" {
			out.Awkward = append(out.Awkward, Awkward{Kind: a.Kind.String(), Voices: voices, Says: says})
		}
	}
	return out
}

// closed lists the chords that cannot follow an option, with the reason.
func (l *outlook) closed(o *voicing.Option, ahead []voicing.Ahead) []ClosedChord {
	out := []ClosedChord{}
	for i, r := range l.q.Onward {
		if o.Onward[i] > 0 {
			continue
		}
		c := ClosedChord{Numeral: r.Numeral.Text(r.Key.Mode), Pitches: []string{}, Findings: []OptionFinding{}}
		if least := ahead[i].Least; least != nil {
			c.Pitches = PitchNames(least.Pitches)
			c.Findings = optionFindings(least, l.ahead.Question(o.Pitches, r), l.catalog)
		}
		out = append(out, c)
	}
	return out
}

// line is what the top voice does, after what it did before.
func (l *outlook) line(semitones int) partwriting.Phrase {
	switch {
	case semitones > 0 && l.came < 0:
		return partwriting.LineTurnsUp
	case semitones < 0 && l.came > 0:
		return partwriting.LineTurnsDown
	case semitones > 0:
		return partwriting.LineRises
	case semitones < 0:
		return partwriting.LineFalls
	}
	return partwriting.LineStays
}

// Finish adds to an option how the phrase goes on after it, and the phrase with the option
// held.
func (o *ContinuationOption) Finish(f *voicing.Finished, hold string) {
	o.Phrase, o.PhraseBroken, o.Hold = Semitones(f.Cost), f.Broken, hold
	for _, c := range f.Rest {
		o.Rest = append(o.Rest, NamedSonority{namedChord(c.Reading), PitchNames(c.Pitches)})
	}
}

func topLine(semitones int) string {
	switch {
	case semitones > 0:
		return "rises"
	case semitones < 0:
		return "falls"
	}
	return "stays"
}

func optionFindings(o *voicing.Option, q *voicing.Question, catalog *partwriting.Catalog) []OptionFinding {
	out := []OptionFinding{}
	if len(o.Findings) == 0 {
		return out
	}
	texture, _ := q.Passage(o.Pitches)
	for i := range o.Findings {
		f := &o.Findings[i]
		reported := OptionFinding{Rule: string(f.Rule), Severity: f.Severity.String(), Voices: []string{}, Message: catalog.Message(f, texture)}
		for _, v := range f.Voices {
			reported.Voices = append(reported.Voices, texture.Voices[v].Name)
		}
		out = append(out, reported)
	}
	return out
}

// againPhrases say in which chords an interval would be parallel.
var againPhrases = map[voicing.AwkwardKind]partwriting.Phrase{
	voicing.WatchFifth: partwriting.FifthAgain, voicing.WatchOctave: partwriting.OctaveAgain,
}

// awkwardPhrases say what to look at, one for each kind.
var awkwardPhrases = map[voicing.AwkwardKind]partwriting.Phrase{
	voicing.LargeLeap: partwriting.LeapsFar, voicing.DiminishedLeap: partwriting.LeapsDiminished,
	voicing.Clash: partwriting.StandsClose, voicing.WatchFifth: partwriting.FifthToWatch,
	voicing.WatchOctave: partwriting.OctaveToWatch, voicing.NewPosition: partwriting.PositionChanges,
	voicing.OverlapsNeighbor: partwriting.VoicesOverlap, voicing.UnisonHere: partwriting.VoicesMeet,
}

// awkward says one thing to look at in a clause. A fifth or an octave is worth a look
// only before chords that could repeat it, which the clause names unless all could; ""
// where none could.
func (l *outlook) awkward(a *voicing.Awkwardness, o *voicing.Option, voices []string, ahead []voicing.Ahead) string {
	var pairs []any
	phrase := awkwardPhrases[a.Kind]
	if again := againPhrases[a.Kind]; again != "" && len(ahead) > 0 {
		var chords []string
		for i, r := range l.q.Onward {
			if slices.Contains(ahead[i].Repeats, a.Voices[0]) {
				chords = append(chords, r.Numeral.Text(r.Key.Mode))
			}
		}
		if chords == nil {
			return ""
		}
		if len(chords) < len(ahead) {
			phrase, pairs = again, []any{"chords", strings.Join(chords, ", ")}
		}
	}
	if len(voices) > 0 {
		pairs = append(pairs, "first", voices[0], "interval", o.Moves[a.Voices[0]].Interval.Abs())
	}
	if len(voices) > 1 {
		pairs = append(pairs, "second", voices[1])
	}
	return l.catalog.Phrase(phrase, pairs...)
}
