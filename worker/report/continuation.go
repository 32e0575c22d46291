package report

import (
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
	// TopLine says what the top voice does: stays, rises or falls.
	TopLine string `json:"top_line"`
	// Findings are what the rule set says of it, the gravest first.
	Findings []OptionFinding `json:"findings"`
	// Awkward is empty where nothing needs a second look.
	Awkward []Awkward `json:"awkward"`
	// Onward counts, in the order of Then, in how many arrangements each can
	// follow without a fault; 0 closes that way.
	Onward []int `json:"onward"`
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

// NewContinuation answers how a sonority can go on.
func NewContinuation(version string, q *voicing.Question, catalog *partwriting.Catalog) *Continuation {
	style := &q.Style
	r := &Continuation{
		Engine: version, Style: style.Name, RuleSet: q.RuleSet.Title(), From: NamedSonority{namedChord(q.From.Reading), PitchNames(q.From.Pitches)}, To: namedChord(q.To),
		Then: []NamedChord{}, Groups: []ContinuationGroup{},
	}
	for _, v := range style.Voices {
		r.Voices = append(r.Voices, v.Name)
	}
	for _, t := range q.Onward {
		r.Then = append(r.Then, namedChord(t))
	}
	options := voicing.Options(*q)
	for i := range options {
		if i == 0 || options[i].Way != options[i-1].Way {
			r.Groups = append(r.Groups, ContinuationGroup{Way: options[i].Way.String()})
		}
		g := &r.Groups[len(r.Groups)-1]
		g.Options = append(g.Options, optionReport(&options[i], q, catalog))
	}
	return r
}

func optionReport(o *voicing.Option, q *voicing.Question, catalog *partwriting.Catalog) ContinuationOption {
	style := &q.Style
	out := ContinuationOption{
		Pitches: PitchNames(o.Pitches), Cost: Semitones(o.Cost), Moves: moveReports(o.Moves, style),
		TopLine: topLine(o.Moves[0].Interval.Semitones), Findings: optionFindings(o, q, catalog),
		Awkward: []Awkward{}, Onward: append([]int{}, o.Onward...),
	}
	for _, a := range o.Awkward {
		voices := []string{}
		for _, v := range a.Voices {
			voices = append(voices, style.Voices[v].Name)
		}
		out.Awkward = append(out.Awkward, Awkward{Kind: a.Kind.String(), Voices: voices, Says: awkwardWords(&a, o, voices, catalog)})
	}
	return out
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

// awkwardPhrases say what to look at, one for each kind.
var awkwardPhrases = map[voicing.AwkwardKind]partwriting.Phrase{
	voicing.LargeLeap: partwriting.LeapsFar, voicing.DiminishedLeap: partwriting.LeapsDiminished,
	voicing.Clash: partwriting.StandsClose, voicing.WatchFifth: partwriting.FifthToWatch,
	voicing.WatchOctave: partwriting.OctaveToWatch, voicing.NewPosition: partwriting.PositionChanges,
	voicing.OverlapsNeighbor: partwriting.VoicesOverlap, voicing.UnisonHere: partwriting.VoicesMeet,
}

// awkwardWords says one thing to look at in a clause.
func awkwardWords(a *voicing.Awkwardness, o *voicing.Option, voices []string, catalog *partwriting.Catalog) string {
	var pairs []any
	if len(voices) > 0 {
		pairs = append(pairs, "first", voices[0], "interval", o.Moves[a.Voices[0]].Interval.Abs())
	}
	if len(voices) > 1 {
		pairs = append(pairs, "second", voices[1])
	}
	return catalog.Phrase(awkwardPhrases[a.Kind], pairs...)
}
