package classroom

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"partwright/theory"
)

// Measures of a drawing, in units of SVG; a step on the staff is half a space.
const (
	step        = 5
	trebleTop   = 45  // the highest line of the upper staff
	bassTop     = 135 // and of the lower one
	clefWidth   = 30
	signWidth   = 9
	chordWidth  = 55
	drawnHeight = 215
	linesInAll  = 5
)

// staff is one of the two staves of a drawing.
type staff struct {
	top int
	// highest is the pitch of the highest line, clef the letter of the clef and on the
	// pitch of its line.
	highest, on theory.Pitch
	clef        string
}

var staves = [2]staff{
	{trebleTop, theory.Pitch{Step: theory.F, Octave: 5}, theory.Pitch{Step: theory.G, Octave: 4}, "G"},
	{bassTop, theory.Pitch{Step: theory.A, Octave: 3}, theory.Pitch{Step: theory.F, Octave: 3}, "F"},
}

func (s *staff) y(p theory.Pitch) int { return s.top + (s.highest.Diatonic()-p.Diatonic())*step }

// signs are where the signs of a key signature stand on the upper staff (common practice,
// no source); on the lower one they stand two octaves lower, which is a line lower.
var (
	sharps = []string{"F5", "C5", "G5", "D5", "A4", "E5", "B4"}
	flats  = []string{"B4", "E5", "A4", "D5", "G4", "C5", "F4"}
)

var accidentals = map[int8]string{-2: "♭♭", -1: "♭", 0: "♮", 1: "♯", 2: "×"}

// Engraving draws the chords of an example on two staves: clefs as letters on their lines,
// notes that the finding names ringed. Rhythm is left out.
func (e *Example) Engraving() template.HTML {
	var b strings.Builder
	fifths := min(max(e.Signature, -len(flats)), len(sharps))
	left := clefWidth + signWidth*max(fifths, -fifths) + 10
	width := left + chordWidth*len(e.Chords) + 10
	fmt.Fprintf(&b, `<svg class="music" viewBox="0 0 %d %d" width="%d" height="%d" role="img"><title>%s</title>`,
		width, drawnHeight, width, drawnHeight, template.HTMLEscapeString(e.Message))
	for i := range staves {
		s := &staves[i]
		for line := range linesInAll {
			y := s.top + 2*step*line
			fmt.Fprintf(&b, `<path d="M2 %dH%d"/>`, y, width-2)
		}
		fmt.Fprintf(&b, `<text class="clef" x="6" y="%d">%s</text>`, s.y(s.on)+8, s.clef)
		e.signature(&b, s, i, fifths)
	}
	fmt.Fprintf(&b, `<path d="M2 %dV%d"/>`, trebleTop, bassTop+8*step)
	for n := range e.Chords {
		e.chord(&b, &e.Chords[n], left+chordWidth*n+chordWidth/2)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // #nosec G203 -- made of numbers, names of notes and an escaped sentence
}

func (e *Example) signature(b *strings.Builder, s *staff, lower, fifths int) {
	places, sign := sharps[:max(fifths, 0)], "♯"
	if fifths < 0 {
		places, sign = flats[:-fifths], "♭"
	}
	for n, name := range places {
		p := theory.MustPitch(name)
		p.Octave -= int8(2 * lower)
		fmt.Fprintf(b, `<text x="%d" y="%d">%s</text>`, clefWidth+signWidth*n, s.y(p)+5, sign)
	}
}

func (e *Example) chord(b *strings.Builder, c *Chord, x int) {
	for n, name := range c.Pitches {
		p, err := theory.ParsePitch(name)
		if err != nil {
			continue
		}
		s := &staves[0]
		if 2*n >= len(c.Pitches) {
			s = &staves[1]
		}
		y := s.y(p)
		for ledger := s.top - 2*step; ledger >= y; ledger -= 2 * step {
			fmt.Fprintf(b, `<path d="M%d %dh20"/>`, x-10, ledger)
		}
		for ledger := s.top + 2*step*linesInAll; ledger <= y; ledger += 2 * step {
			fmt.Fprintf(b, `<path d="M%d %dh20"/>`, x-10, ledger)
		}
		fmt.Fprintf(b, `<ellipse cx="%d" cy="%d" rx="6" ry="4.4"/>`, x, y)
		if slices.Contains(c.Faulty, n) {
			fmt.Fprintf(b, `<circle class="faulty" cx="%d" cy="%d" r="9"/>`, x, y)
		}
		if in := (theory.KeySignature{Fifths: int8(e.Signature)}).Alter(p.Step); in != p.Alter { // #nosec G115 -- a signature has at most a few signs
			fmt.Fprintf(b, `<text x="%d" y="%d">%s</text>`, x-20, y+5, accidentals[p.Alter])
		}
	}
}
