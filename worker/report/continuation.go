package report

import (
	"fmt"

	"partwright/theory/harmony"
	"partwright/theory/voicing"
)

// Continuation is the JSON answer to a [worker.ContinueRequest].
type Continuation struct {
	Engine string `json:"engine"`
	Style  string `json:"style"`
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

// ContinuationGroup holds the continuations of one way, cheapest first. A way on
// which nothing is admissible has no group.
type ContinuationGroup struct {
	Way     string               `json:"way"`
	Options []ContinuationOption `json:"options"`
}

// ContinuationOption is one way to go on.
type ContinuationOption struct {
	Pitches []string `json:"pitches"`
	Cost    float64  `json:"cost"`
	Moves   []Move   `json:"moves"`
	// Awkward is empty where nothing needs a second look.
	Awkward []Awkward `json:"awkward"`
	// Onward counts, in the order of Then, in how many arrangements each can
	// follow without a fault; 0 closes that way.
	Onward []int `json:"onward"`
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

// NewContinuation reports what can follow one sonority.
func NewContinuation(version string, style *voicing.Style, from voicing.Chord, to harmony.Reading, then []harmony.Reading, options []voicing.Option) *Continuation {
	r := &Continuation{
		Engine: version, Style: style.Name, From: NamedSonority{namedChord(from.Reading), PitchNames(from.Pitches)}, To: namedChord(to),
		Then: []NamedChord{}, Groups: []ContinuationGroup{},
	}
	for _, v := range style.Voices {
		r.Voices = append(r.Voices, v.Name)
	}
	for _, t := range then {
		r.Then = append(r.Then, namedChord(t))
	}
	for i := range options {
		if i == 0 || options[i].Way != options[i-1].Way {
			r.Groups = append(r.Groups, ContinuationGroup{Way: options[i].Way.String()})
		}
		g := &r.Groups[len(r.Groups)-1]
		g.Options = append(g.Options, optionReport(&options[i], style))
	}
	return r
}

func optionReport(o *voicing.Option, style *voicing.Style) ContinuationOption {
	out := ContinuationOption{
		Pitches: PitchNames(o.Pitches), Cost: Semitones(o.Cost), Moves: moveReports(o.Moves, style),
		Awkward: []Awkward{}, Onward: append([]int{}, o.Onward...),
	}
	for _, a := range o.Awkward {
		voices := []string{}
		for _, v := range a.Voices {
			voices = append(voices, style.Voices[v].Name)
		}
		out.Awkward = append(out.Awkward, Awkward{Kind: a.Kind.String(), Voices: voices, Says: awkwardWords(&a, o, voices)})
	}
	return out
}

// awkwardWords says one thing to look at in a clause.
func awkwardWords(a *voicing.Awkwardness, o *voicing.Option, voices []string) string {
	interval := func() string { return o.Moves[a.Voices[0]].Interval.Abs().String() }
	switch a.Kind {
	case voicing.LargeLeap:
		return fmt.Sprintf("%s leaps %s, more than a fourth", voices[0], interval())
	case voicing.DiminishedLeap:
		return fmt.Sprintf("%s moves by %s, hard to sing in tune", voices[0], interval())
	case voicing.Clash:
		return fmt.Sprintf("%s and %s stand a second apart", voices[0], voices[1])
	case voicing.WatchFifth:
		return fmt.Sprintf("%s stands a fifth above %s: not again in the next change", voices[0], voices[1])
	case voicing.WatchOctave:
		return fmt.Sprintf("%s stands an octave above %s: not again in the next change", voices[0], voices[1])
	case voicing.NewPosition:
		return "the position changes between close and open"
	case voicing.OverlapsNeighbor:
		return fmt.Sprintf("%s and %s overlap: one passes where the other was", voices[0], voices[1])
	}
	return fmt.Sprintf("%s and %s meet on one note", voices[0], voices[1])
}
