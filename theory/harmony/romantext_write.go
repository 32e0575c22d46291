package harmony

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"partwright/theory"
)

// WriteRomanText writes an analysis in RomanText. Measures are numbered as the
// score prints them; the rest of a measure that a repeat divides is written with
// the number of its beginning and the beats it has in the full measure, and a
// score whose labels are not numbers is counted from 1 (0 for a pickup).
func (a *Analysis) WriteRomanText(w io.Writer, header []HeaderLine) error {
	var b strings.Builder
	for _, h := range header {
		fmt.Fprintf(&b, "%s: %s\n", h.Tag, strings.ReplaceAll(h.Value, "\n", " "))
	}
	numbers := romanNumbers(a.texture.Score)
	ends := map[int]bool{}
	for _, p := range a.Phrases {
		ends[p.EndMoment] = true
	}
	var time theory.TimeSignature
	var key theory.Key
	line := -1
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		measure := &a.texture.Score.Measures[h.Measure]
		if i == 0 || measure.Time != time {
			time = measure.Time
			fmt.Fprintf(&b, "\n\nTime Signature: %s\n", romanTime(time))
			line = -1
		}
		if numbers[h.Measure] != line {
			line = numbers[h.Measure]
			fmt.Fprintf(&b, "\nm%d", line)
		}
		if beat := romanBeat(time, h.Onset.Sub(measure.Onset).Add(measure.Into)); beat != "1" {
			b.WriteString(" b" + beat)
		}
		if h.Pivot != nil && h.Pivot.Key == key {
			b.WriteString(" " + h.Pivot.Numeral.Text(h.Pivot.Key.Mode))
		}
		if i == 0 || h.Key != key {
			key = h.Key
			b.WriteString(" " + key.Abbreviation() + ":")
		}
		b.WriteString(" " + h.Numeral.Text(key.Mode))
		if ends[h.EndMoment] && i+1 < len(a.Harmonies) {
			b.WriteString(" ||")
		}
	}
	b.WriteByte('\n')
	_, err := io.WriteString(w, strings.TrimLeft(b.String(), "\n"))
	return err
}

// romanTime writes a metre; music without one is counted in quarter notes.
func romanTime(t theory.TimeSignature) string {
	if t.IsSenzaMisura() {
		return "4/4"
	}
	return strconv.Itoa(int(t.Beats)) + "/" + strconv.Itoa(int(t.BeatType))
}

// romanNumbers gives each measure its number in RomanText. There a pickup is
// measure 0, also where the score prints 1 over it.
func romanNumbers(s *theory.Score) []int {
	out := make([]int, len(s.Measures))
	number, printed := 0, true
	for i := range s.Measures {
		m := &s.Measures[i]
		n, err := strconv.Atoi(m.Label)
		if err != nil && !m.Implicit {
			printed = false
		}
		if err == nil && !m.Implicit && n < number {
			printed = false // numbers that begin again would collide
		}
		switch {
		case err == nil && !m.Implicit:
			number = n
		case err == nil && i == 0:
			number = n
		}
		out[i] = number
	}
	if printed {
		if len(out) > 0 && out[0] == 1 && s.Measures[0].Into.Sign() > 0 && !s.Measures[0].Implicit {
			for i := range out {
				out[i]--
			}
		}
		return out
	}
	number = 0
	for i := range s.Measures {
		m := &s.Measures[i]
		continues := m.Implicit && m.Into.Sign() > 0
		if !continues {
			number++
		}
		out[i] = number
	}
	return out
}

// romanBeat writes the beat of an offset in the nominal measure. RomanText
// counts 3/8 as one beat.
func romanBeat(t theory.TimeSignature, offset theory.Fraction) string {
	beat := t.Beat()
	if t.Beats == 3 && t.BeatType >= 8 {
		beat = theory.Frac(12, int64(t.BeatType))
	}
	at := offset.Div(beat)
	whole := at.Num() / at.Den()
	rest := at.Sub(theory.Whole(whole))
	text := strconv.FormatInt(whole+1, 10)
	switch {
	case rest.Sign() == 0:
		return text
	case 1000%rest.Den() == 0:
		return text + strings.TrimPrefix(strconv.FormatFloat(rest.Float(), 'f', -1, 64), "0")
	}
	// Thirds and the like are cut off after three digits.
	return text + "." + fmt.Sprintf("%03d", rest.Num()*1000/rest.Den())
}
