package harmony

import (
	"fmt"
	"sort"
	"strconv"
	"strings"

	"partwright/theory"
)

// romanMetre is a time signature with the beat that the analyst counts.
type romanMetre struct {
	time  theory.TimeSignature
	beat  theory.Fraction
	fixed bool
	// over counts measures whose last beat lies outside the metre.
	used, over, top int
}

// parseRomanMetre reads "3/4", "C", "Cut", "Slow 6/8". Compound metres count
// dotted beats unless the text says slow.
func parseRomanMetre(s string) (romanMetre, error) {
	lower := strings.ToLower(s)
	beats, unit := 0, 0
	if m := timeText.FindStringSubmatch(lower); m != nil {
		beats, _ = strconv.Atoi(m[1])
		unit, _ = strconv.Atoi(m[2])
	} else if strings.Contains(lower, "cut") {
		beats, unit = 2, 2
	} else if strings.HasPrefix(strings.TrimSpace(lower), "c") {
		beats, unit = 4, 4
	}
	if beats < 1 || unit < 1 || beats > 128 || unit > 128 || unit&(unit-1) != 0 {
		return romanMetre{}, fmt.Errorf("%q is not a time signature", s)
	}
	m := romanMetre{time: theory.TimeSignature{Beats: int32(beats), BeatType: int32(unit)}}
	m.beat = m.time.Beat()
	switch {
	case strings.Contains(lower, "slow"):
		m.beat, m.fixed = theory.Frac(4, int64(unit)), true
	case strings.Contains(lower, "fast"):
		m.fixed = true
	}
	if beats == 3 && unit >= 8 && !strings.Contains(lower, "slow") {
		m.beat = theory.Frac(12, int64(unit))
	}
	return m, nil
}

// adapt follows analysts who count 6/8 in six or 2/2 in four, which shows in
// beats that the metre does not have.
func (m *romanMetre) adapt() {
	if m.fixed || m.over == 0 || 4*m.over < m.used {
		return
	}
	unit := theory.Frac(4, int64(m.time.BeatType))
	for _, parts := range []int64{1, 2, 4} {
		beat := unit.Div(theory.Whole(parts))
		if beat.Less(m.beat) && !m.time.Measure().Div(beat).Less(theory.Whole(int64(m.top))) {
			m.beat = beat
			return
		}
	}
}

// countBeats finds out what beat the analyst counts in each section.
func (r *romanReader) countBeats() error {
	words := 0
	for _, l := range r.lines {
		metre, top := &r.sections[l.section], 1
		tokens := romanTokens(l.body)
		if words += len(tokens); words > MaxRomanWords {
			return &Problem{l.line, fmt.Sprintf("the analysis has more than %d numerals, beats and keys", MaxRomanWords)}
		}
		for _, token := range tokens {
			if b := beatToken.FindStringSubmatch(token); b != nil {
				n, _ := strconv.Atoi(b[1])
				top = max(top, n)
			}
		}
		if top > 1 {
			metre.used++
			if metre.time.Measure().Div(metre.beat).Less(theory.Whole(int64(top))) {
				metre.over++
				metre.top = max(metre.top, top)
			}
		}
	}
	for i := range r.sections {
		r.sections[i].adapt()
	}
	return nil
}

func (r *romanReader) labels() {
	var key *theory.Key
	for _, l := range r.lines {
		metre := &r.sections[l.section]
		beat, named := theory.Whole(1), false
		for _, token := range romanTokens(l.body) {
			switch {
			case beatToken.MatchString(token):
				beat = parseBeat(token)
			case keyToken.MatchString(token):
				k, err := theory.ParseKey(strings.ReplaceAll(strings.TrimSuffix(token, ":"), "-", "b"))
				if err != nil {
					r.problem(l.line, "%v", err)
					continue
				}
				key, named = &k, true
			case strings.Contains(token, "|"):
				if n := len(r.out.Entries); n > 0 && token != "||:" && token != "|:" {
					r.out.Entries[n-1].PhraseEnd = true
				}
			case key == nil:
				r.problem(l.line, "the numeral %q stands before any key", token)
			default:
				n, err := ParseNumeral(token, key.Mode)
				if err != nil {
					r.problem(l.line, "%v", err)
					continue
				}
				r.out.Entries = append(r.out.Entries, Entry{
					Measure: l.number, Suffix: l.suffix, Beat: beat,
					Offset: beat.Sub(theory.Whole(1)).Mul(metre.beat), Time: metre.time,
					Reading: Reading{*key, n}, Text: token, NamesKey: named, Line: l.line,
				})
				named = false
			}
		}
	}
	sort.SliceStable(r.out.Entries, func(i, j int) bool {
		a, b := &r.out.Entries[i], &r.out.Entries[j]
		if a.Measure != b.Measure {
			return a.Measure < b.Measure
		}
		if a.Suffix != b.Suffix {
			return a.Suffix < b.Suffix
		}
		return a.Offset.Less(b.Offset)
	})
}

// romanTokens splits a measure's text, also where a space was forgotten: "G:I",
// "I||".
func romanTokens(body string) []string {
	var tokens []string
	for _, word := range strings.Fields(body) {
		word = strings.Trim(word, ",;")
		if g := gluedKey.FindStringSubmatch(word); g != nil && !strings.Contains(g[2], "|") {
			tokens = append(tokens, g[1])
			word = g[2]
		}
		if i := strings.Index(word, "||"); i > 0 && word[i-1] != ':' {
			tokens = append(tokens, word[:i])
			word = word[i:]
		}
		if word != "" {
			tokens = append(tokens, word)
		}
	}
	return tokens
}

// parseBeat reads "b2", "b2.5", "b1.33", "b1.66.5" (half of a third further on).
func parseBeat(token string) theory.Fraction {
	m := beatToken.FindStringSubmatch(token)
	n, _ := strconv.ParseInt(m[1], 10, 32)
	beat := theory.Whole(n)
	parts := strings.Split(strings.TrimPrefix(m[2], "."), ".")
	if len(parts) > 0 && parts[0] != "" {
		beat = beat.Add(nearFraction(parts[0]))
	}
	if len(parts) > 1 && parts[1] != "" {
		beat = beat.Add(nearFraction(parts[1]).Div(theory.Whole(3)))
	}
	return beat
}

// nearFraction reads decimal digits after the point as the simple fraction that
// they round: "33" is 1/3, "375" is 3/8.
func nearFraction(digits string) theory.Fraction {
	if len(digits) > 6 {
		digits = digits[:6]
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	if err != nil {
		return theory.Fraction{}
	}
	scale := int64(1)
	for range digits {
		scale *= 10
	}
	for _, den := range []int64{1, 2, 3, 4, 6, 8, 5, 9, 12, 16, 7, 24, 32} {
		num := (2*n*den + scale) / (2 * scale)
		difference := n*den - num*scale
		if difference < 0 {
			difference = -difference
		}
		// within one unit of the last digit, exact where there is one digit only
		if num < den && (difference == 0 || len(digits) > 1 && difference < den) {
			return theory.Frac(num, den)
		}
	}
	return theory.Frac(n, scale)
}
