package harmony

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// Limits of what ReadRomanText takes.
const (
	// MaxRomanText is the greatest length of a text, in bytes.
	MaxRomanText = 1 << 20
	// MaxRomanMeasures is the greatest number of measures, copies included.
	MaxRomanMeasures = 20000
	// MaxRomanWords is the greatest number of numerals, beats, keys and bar lines,
	// copies included: a line that copies measures is short and can stand for many.
	MaxRomanWords = 100_000
)

// ReadRomanText reads an analysis. What it does not understand becomes a
// [Problem] and the rest is read; it fails, mostly with a [*Problem], only where the text
// is too long or holds no numeral that can be understood.
func ReadRomanText(text string) (*RomanText, error) {
	if len(text) > MaxRomanText {
		return nil, fmt.Errorf("the analysis has %d bytes, more than the %d allowed", len(text), MaxRomanText)
	}
	r := romanReader{out: &RomanText{}, bodies: map[romanMeasure]string{}}
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u00a0", " ", "\ufeff", "").Replace(text)
	for i, line := range strings.Split(text, "\n") {
		if err := r.line(i+1, strings.TrimSpace(line)); err != nil {
			return nil, err
		}
	}
	if err := r.countBeats(); err != nil {
		return nil, err
	}
	r.labels()
	slices.SortStableFunc(r.out.Problems, func(a, b Problem) int { return a.Line - b.Line })
	switch {
	case len(r.out.Entries) > 0:
		return r.out, nil
	case len(r.out.Problems) > 0:
		return nil, &r.out.Problems[0]
	default:
		return nil, fmt.Errorf("the analysis holds no numeral: a line such as \"m1 C: I b3 V\" is expected")
	}
}

type romanMeasure struct {
	number int
	suffix string
}

// romanLine is one measure's text with the metre in force.
type romanLine struct {
	romanMeasure
	body    string
	line    int
	section int
}

type romanReader struct {
	out      *RomanText
	lines    []romanLine
	bodies   map[romanMeasure]string
	sections []romanMetre
	pending  *romanMetre
	// size is that of the bodies of all lines, in bytes.
	size int
}

var (
	copyLine    = regexp.MustCompile(`^m(\d{1,6})(?:\s*-\s*m?(\d{1,6}))?\s*=\s*m?\s*(\d{1,6})(?:\s*-\s*m?(\d{1,6}))?`)
	measureHead = regexp.MustCompile(`^m(\d{1,6})([a-z]?)(var\w*)?:?$`)
	headerLine  = regexp.MustCompile(`^([A-Za-z][\w .&'-]*?)\s*[:;](.*)$`)
	timeText    = regexp.MustCompile(`(\d{1,3})\s*/\s*(\d{1,3})`)
	keyToken    = regexp.MustCompile(`^([A-Ga-g])([#b\-]*):$`)
	gluedKey    = regexp.MustCompile(`^([A-Ga-g][#b\-]*:)(.+)$`)
	beatToken   = regexp.MustCompile(`^b(\d{1,4})((?:\.\d*)*)$`)
)

func (r *romanReader) problem(line int, format string, args ...any) {
	r.out.Problems = append(r.out.Problems, Problem{line, fmt.Sprintf(format, args...)})
}

func (r *romanReader) line(number int, line string) error {
	if line == "" {
		return nil
	}
	if line[0] != 'm' || len(line) < 2 || line[1] < '0' || line[1] > '9' {
		r.header(number, line)
		return nil
	}
	if c := copyLine.FindStringSubmatch(line); c != nil {
		return r.copy(number, c)
	}
	head, body, _ := strings.Cut(strings.ReplaceAll(line, "\t", " "), " ")
	m := measureHead.FindStringSubmatch(head)
	switch {
	case m == nil:
		if !strings.Contains(head, "var") {
			r.problem(number, "%q is not a measure such as m12", head)
		}
		return nil
	case m[3] != "":
		return nil // an alternative reading
	}
	n, _ := strconv.Atoi(m[1])
	return r.add(romanMeasure{n, m[2]}, body, number)
}

func (r *romanReader) header(number int, line string) {
	h := headerLine.FindStringSubmatch(line)
	if h == nil {
		return
	}
	tag, value := strings.TrimSpace(h[1]), strings.TrimSpace(h[2])
	if flat := strings.ReplaceAll(strings.ToLower(tag), " ", ""); flat == "timesignature" {
		metre, err := parseRomanMetre(value)
		if err != nil {
			r.problem(number, "%v", err)
			return
		}
		r.pending = &metre
		return
	}
	if len(r.lines) == 0 {
		r.out.Header = append(r.out.Header, HeaderLine{tag, value})
	}
}

func (r *romanReader) copy(number int, c []string) error {
	bound := func(i int, otherwise int) int {
		if c[i] == "" {
			return otherwise
		}
		n, _ := strconv.Atoi(c[i])
		return n
	}
	first, from := bound(1, 0), bound(3, 0)
	last, to := bound(2, first), bound(4, from)
	if last < first || last-first != to-from || last-first > MaxRomanMeasures {
		r.problem(number, "the copied measures are not as many as those they stand for")
		return nil
	}
	for k := range last - first + 1 {
		if err := r.add(romanMeasure{number: first + k}, r.bodies[romanMeasure{number: from + k}], number); err != nil {
			return err
		}
	}
	return nil
}

func (r *romanReader) add(m romanMeasure, body string, line int) error {
	if len(r.lines) >= MaxRomanMeasures {
		return &Problem{line, fmt.Sprintf("the analysis has more than %d measures", MaxRomanMeasures)}
	}
	if r.size += len(body); r.size > MaxRomanText {
		return &Problem{line, fmt.Sprintf("with its copies the analysis has more than %d bytes", MaxRomanText)}
	}
	if r.pending != nil || len(r.sections) == 0 {
		if r.pending == nil {
			metre, _ := parseRomanMetre("4/4")
			r.pending = &metre
		}
		r.sections = append(r.sections, *r.pending)
		r.pending = nil
	}
	r.bodies[m] = body
	r.lines = append(r.lines, romanLine{m, body, line, len(r.sections) - 1})
	return nil
}
