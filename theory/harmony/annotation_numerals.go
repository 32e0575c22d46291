package harmony

import (
	"strings"

	"partwright/theory"
)

// writtenNumeral is a numeral of the score before its key is known.
type writtenNumeral struct {
	onset theory.Fraction
	// stack is the chord and what it is applied to, as W3C MusicXML 4.0 stacks
	// them in one harmony element.
	stack []*theory.GivenChord
	key   *theory.Key
	// counted numerals stand in a key of the signature where they name none.
	signature theory.KeySignature
	counted   bool
}

// numeralAnnotations reads the numerals and functions of a score, each until the
// next one. Where none names a key, the key is the one in which most of the
// labeled roots sound, of those with the signature for a numeral, of all for a
// function; a function may name its key as RomanText does, "G: V65".
func numeralAnnotations(t *theory.Texture) []Annotation {
	written := writtenNumerals(t.Score)
	var out []Annotation
	for i := 0; i < len(written); {
		end := i + 1
		for written[i].key == nil && end < len(written) && written[end].key == nil && written[end].counted == written[i].counted &&
			(!written[i].counted || written[end].signature == written[i].signature) {
			end++
		}
		run := written[i:end]
		key := run[0].key
		if key == nil {
			likely := likeliestKey(t, run)
			key = &likely
		}
		for k := range run {
			a := Annotation{Onset: run[k].onset, End: t.Score.End(), Source: FromNumeral}
			if n, ok := run[k].numeral(key.Mode); ok {
				r := Reading{*key, n}
				a.Text, a.Key, a.Numeral = r.String(), key, &n
				a.Chord, a.More = Chord{r.Root(), r.Quality(), r.Inversion()}, run[k].saysMore()
			}
			out = append(out, a)
		}
		i = end
	}
	return withChord(inTurn(out))
}

func writtenNumerals(s *theory.Score) []writtenNumeral {
	part := busiest(s.Chords, func(c *theory.GivenChord) int {
		if isNumeral(c) {
			return c.Part
		}
		return -1
	})
	var out []writtenNumeral
	var inForce *theory.Key // as a function named it
	for i := range s.Chords {
		c := &s.Chords[i]
		if c.Part != part || !isNumeral(c) {
			continue
		}
		if n := len(out); n > 0 && out[n-1].stack[0].ID == c.ID {
			out[n-1].stack = append(out[n-1].stack, c)
			continue
		}
		w := writtenNumeral{
			onset: c.Onset, stack: []*theory.GivenChord{c}, counted: c.Degree > 0, signature: s.Measures[c.Measure].Key,
		}
		switch {
		case c.HasKey:
			key := c.NumeralKey
			w.key = &key
		case !w.counted:
			if key, _, named := cutKey(c.Numeral); named {
				inForce = &key
			}
			w.key = inForce
		}
		out = append(out, w)
	}
	return out
}

// cutKey takes "G:" or "g:" off the front of a function.
func cutKey(text string) (key theory.Key, rest string, named bool) {
	before, after, ok := strings.Cut(text, ":")
	if !ok {
		return theory.Key{}, text, false
	}
	key, err := theory.ParseKey(strings.TrimSpace(before))
	if err != nil {
		return theory.Key{}, text, false
	}
	return key, strings.TrimSpace(after), true
}

// saysMore reports whether the label holds notes that the chord does not.
func (w *writtenNumeral) saysMore() bool {
	c := w.stack[0]
	if w.counted {
		return saysMore(c)
	}
	return len(c.Degrees) > 0 || strings.ContainsAny(c.Numeral, "[9")
}

// numeral reads the stack in a key of a mode.
func (w *writtenNumeral) numeral(mode theory.Mode) (Numeral, bool) {
	if w.counted {
		return countedNumeral(w.stack)
	}
	words := make([]string, 0, len(w.stack))
	for _, c := range w.stack {
		_, text, _ := cutKey(c.Numeral)
		words = append(words, text)
	}
	text := strings.Join(words, "/")
	n, err := ParseNumeral(text, mode)
	if err != nil {
		return Numeral{}, false
	}
	if !strings.ContainsAny(text, "23456") && n.Inversion == 0 {
		n.Inversion = int8(min(w.stack[0].Inversion, n.Quality.Size()-1))
	}
	return n, true
}

// countedNumeral reads numeral elements: a degree with its alteration, the kind
// of chord, the inversion; then what it is applied to.
func countedNumeral(stack []*theory.GivenChord) (Numeral, bool) {
	c := stack[0]
	q, ok := qualityOfKind(c.Kind)
	if c.Kind == "other" && !strings.Contains(c.Text, qualities[AugmentedMajorSeventh].mark) {
		return Numeral{}, false
	}
	q, _ = q.with(c.Degrees)
	if !ok || len(stack) > 2 || c.Inversion >= q.Size() {
		return Numeral{}, false
	}
	n := Numeral{Degree: int8(c.Degree), Alter: int8(c.DegreeAlter), Quality: q, Inversion: int8(c.Inversion)}
	n.Cadential = strings.HasSuffix(c.Numeral, "Cad") && n.Degree == 1 && n.Inversion == 2
	switch {
	case q.IsAugmentedSixth():
		// Whatever degree it is counted from, it is one chord.
		n = sixth(n, qualities[q].mark, "")
		n.Inversion = int8(c.Inversion)
		if c.Inversion == 0 && c.Degree == 6 {
			n.Inversion = sixth(n, qualities[q].mark, "").Inversion
		}
	case c.Kind == "Neapolitan":
		n.Degree, n.Alter = 2, -1
	}
	if len(stack) == 2 {
		of, ok := qualityOfKind(stack[1].Kind)
		if !ok || stack[1].Degree == 0 {
			return Numeral{}, false
		}
		n.Of = Target{Degree: int8(stack[1].Degree), Alter: int8(stack[1].DegreeAlter)}
		if qualities[of].lower {
			n.Of.Mode = theory.MinorMode
		}
		if n.IsDominant() && n.Degree == 7 && n.Of.Mode == theory.MinorMode {
			n.Alter = 1 // the leading tone, also where the label leaves that to the kind
		}
	}
	return n, true
}

// mostNumeralsTried bounds how many numerals a key is tried on.
const mostNumeralsTried = 500

// likeliestKey returns the key in which most of the labeled roots sound where
// they stand, then most of the basses; of equals the one that the signature is
// nearest to.
func likeliestKey(t *theory.Texture, run []writtenNumeral) theory.Key {
	home := theory.MajorKey(theory.PitchClassAtFifths(int(run[0].signature.Fifths)))
	candidates := []theory.Key{home, home.Relative()}
	if !run[0].counted {
		for tonic := -8; tonic <= 8; tonic++ {
			c := theory.PitchClassAtFifths(int(run[0].signature.Fifths) + tonic)
			candidates = append(candidates, theory.MajorKey(c), theory.MinorKey(c))
		}
	}
	best, most := candidates[0], -1
	every := 1 + len(run)/mostNumeralsTried
	for _, key := range candidates {
		fit := 0
		for i := 0; i < len(run); i += every {
			n, ok := run[i].numeral(key.Mode)
			if !ok {
				continue
			}
			r := Reading{key, n}
			for member := range r.Size() {
				if rootSounds(t, run[i].onset, r.Member(member)) {
					fit++
					if member == 0 {
						fit += 2
					}
				}
			}
		}
		if fit > most {
			best, most = key, fit
		}
	}
	return best
}
