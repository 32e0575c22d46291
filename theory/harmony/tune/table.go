package tune

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// longestRow is more than the table has.
const longestRow = 1 << 20

// sharesOf is how many beats the shares of chords are told of.
const sharesOf = 100_000

// least is the smallest weight that counts.
const least = 0.03

// heads say where the weights for a line come from.
var heads = [...]string{
	Melody: `# Which chords stand under the notes of a melody: weights of a conditional random
# field, fitted by "go run ./worker/fitharmony melodies" to the RomanText labels of
# chorales in the dataset "When in Rome" (Gotham, Micchi, Napoles Lopez, Sailor, TISMIR
# 6(1), 2023), CC BY-SA 4.0, each with melodies that this program voices over the labels,
# and to textbook examples and songs with their top voices: labels of the same dataset, the
# songs from the OpenScore Lieder Corpus, CC0. No note of a chorale was seen. The table is a
# derivative under the same licence.
`,
	Bass: `# Which chords stand over the notes of a bass: weights of a conditional random field,
# fitted by "go run ./worker/fitharmony basses" to the RomanText labels of chorales in the
# dataset "When in Rome" (Gotham, Micchi, Napoles Lopez, Sailor, TISMIR 6(1), 2023),
# CC BY-SA 4.0, with the bass notes that the labels name, and to textbook examples of the
# same dataset with their basses. No note of a chorale was seen. The table is a derivative
# under the same licence.
`,
}

const rowsOf = `#
# chord MODE NUMERAL SHARE              the chords, in order, and how many of 100,000 beats have them
# note MODE FEATURE KIND GROUP:WEIGHT …  for chords of a group beside what the notes say
# change MODE CONTEXT KIND LINK:WEIGHT … for one chord after another
#
# Weights are in hundredths.
`

var modeNames = [2]string{theory.MajorMode: "M", theory.MinorMode: "m"}

// Write writes a model for a line as [Read] reads it.
func (m *Model) Write(w io.Writer, line Line) error {
	b := bufio.NewWriter(w)
	_, _ = b.WriteString(heads[line] + rowsOf) // Flush tells of errors
	for mode, c := range m.modes {
		name := modeNames[mode]
		for s, n := range c.states {
			fmt.Fprintf(b, "chord\t%s\t%s\t%.0f\n", name, n.Text(theory.Mode(mode)), sharesOf*c.shares[s])
		}
		features := make([]string, 0, len(c.features))
		for f := range c.features {
			features = append(features, f)
		}
		slices.Sort(features)
		for _, f := range features {
			for k := range kinds {
				row(b, fmt.Sprintf("note\t%s\t%s\t%d", name, f, k), c.single[c.features[f]][k])
			}
		}
		for k := range kinds {
			for at, links := range c.double[k] {
				row(b, fmt.Sprintf("change\t%s\t%d\t%d", name, at, k), links)
			}
		}
	}
	return b.Flush()
}

// row writes the weights that count, none without any.
func row(b *bufio.Writer, start string, weights []float64) {
	separator := "\t"
	for i, x := range weights {
		if whole := math.Round(100 * x); whole != 0 {
			if separator == "\t" {
				_, _ = b.WriteString(start)
			}
			fmt.Fprintf(b, "%s%d:%g", separator, i, whole)
			separator = " "
		}
	}
	if separator != "\t" {
		_ = b.WriteByte('\n')
	}
}

// Read reads a model; the error names the line.
func Read(r io.Reader) (*Model, error) {
	var states [2][]harmony.Numeral
	var shares [2][]float64
	var rows [][]string
	lines := bufio.NewScanner(r)
	lines.Buffer(nil, longestRow)
	for at := 1; lines.Scan(); at++ {
		f := strings.Split(lines.Text(), "\t")
		if strings.HasPrefix(lines.Text(), "#") {
			continue
		}
		if len(f) < 3 || f[1] != "M" && f[1] != "m" {
			return nil, fmt.Errorf("line %d: %q is no row of this table", at, lines.Text())
		}
		if f[0] != "chord" {
			rows = append(rows, f)
			continue
		}
		mode := modeOf(f[1])
		n, share, err := chordRow(f, mode)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", at, err)
		}
		states[mode], shares[mode] = append(states[mode], n), append(shares[mode], share)
	}
	if err := lines.Err(); err != nil {
		return nil, err
	}
	m := &Model{}
	for mode := range m.modes {
		m.modes[mode] = newChain(theory.Mode(mode), states[mode], shares[mode])
	}
	for _, f := range rows {
		if err := m.modes[modeOf(f[1])].row(f); err != nil {
			return nil, fmt.Errorf("%q: %w", strings.Join(f, " "), err)
		}
	}
	for _, c := range m.modes {
		c.join()
	}
	return m, nil
}

// complete says what a model lacks that is to weigh melodies in both modes: one that knows no
// chord would leave the choice to others without a word.
func (m *Model) complete() error {
	for mode, c := range m.modes {
		switch {
		case len(c.states) == 0:
			return fmt.Errorf("the table has no chord of mode %q", modeNames[mode])
		case len(c.features) == 0:
			return fmt.Errorf("the table has no weight of a note in mode %q", modeNames[mode])
		}
	}
	return nil
}

// chordRow reads a chord and its share of the beats.
func chordRow(f []string, mode theory.Mode) (n harmony.Numeral, share float64, err error) {
	if len(f) != 4 {
		return n, 0, errRow
	}
	of, err := strconv.Atoi(f[3])
	if err != nil || of < 0 || of > sharesOf {
		return n, 0, errRow
	}
	n, err = harmony.ParseNumeral(f[2], mode)
	return n, float64(of) / sharesOf, err
}

func modeOf(name string) theory.Mode {
	if name == "m" {
		return theory.MinorMode
	}
	return theory.MajorMode
}

var errRow = errors.New("this is no row of the table")

// row sets the weights of one row.
func (c *chain) row(f []string) error {
	if len(f) != 5 {
		return errRow
	}
	kind, err := strconv.Atoi(f[3])
	if err != nil || kind < 0 || kind >= kinds || f[0] == "note" && kind >= kindsOf(f[2]) {
		return errRow
	}
	var weights []float64
	switch context, err := strconv.Atoi(f[2]); {
	case f[0] == "note":
		weights = c.single[c.feature(f[2])][kind]
	case f[0] == "change" && err == nil && context >= 0 && context <= contexts:
		weights = c.double[kind][context]
	default:
		return errRow
	}
	for _, word := range strings.Fields(f[4]) {
		at, value, _ := strings.Cut(word, ":")
		i, err1 := strconv.Atoi(at)
		x, err2 := strconv.Atoi(value)
		if err1 != nil || err2 != nil || i < 0 || i >= len(weights) {
			return errRow
		}
		weights[i] = float64(x) / 100
	}
	return nil
}
