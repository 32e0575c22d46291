package main

import (
	"bufio"
	"fmt"
	"io"
	"sort"

	"partwright/theory"
	"partwright/theory/harmony"
)

// tally counts what labels do, without looking at any note.
type tally map[string]float64

// relation names a change of key: how many fifths up the new tonic lies, and
// the two modes.
func relation(from, to theory.Key) string {
	return fmt.Sprintf("%d %s %s", to.Tonic.Fifths()-from.Tonic.Fifths(), mode(from.Mode), mode(to.Mode))
}

func mode(m theory.Mode) string {
	if m == theory.MinorMode {
		return "m"
	}
	return "M"
}

// name writes a numeral as counts.tsv has it; the cadential six-four counts as
// the tonic's second inversion.
func name(r harmony.Reading) string {
	n := r.Numeral
	n.Cadential = false
	return mode(r.Key.Mode) + " " + n.Text(r.Key.Mode)
}

// place is all readings that one moment has in an analysis: two for a pivot.
type place struct {
	readings  []harmony.Reading
	phraseEnd bool
}

func places(r *harmony.RomanText) []place {
	var out []place
	for i, e := range r.Entries {
		same := i > 0 && r.Entries[i-1].Measure == e.Measure && r.Entries[i-1].Suffix == e.Suffix && r.Entries[i-1].Offset == e.Offset
		if !same {
			out = append(out, place{})
		}
		last := &out[len(out)-1]
		last.readings = append(last.readings, e.Reading)
		last.phraseEnd = last.phraseEnd || e.PhraseEnd
	}
	return out
}

// count adds one analysis to the tally.
func (t tally) count(r *harmony.RomanText, weight float64) {
	all := places(r)
	for i, p := range all {
		first, last := p.readings[0], p.readings[len(p.readings)-1]
		t["uni "+name(last)] += weight
		switch {
		case i == len(all)-1:
			t["last "+name(last)] += weight
		case p.phraseEnd:
			t["final "+name(last)] += weight
		}
		if i == 0 {
			t["first "+name(last)] += weight
			continue
		}
		before := all[i-1]
		prev := before.readings[len(before.readings)-1]
		switch {
		case first.Key == prev.Key && before.phraseEnd:
			t["start "+name(first)] += weight
			t["stay phrase"] += weight
			if first != prev {
				t["pair "+name(prev)+" "+name(first)[2:]] += weight / 4
			}
		case first.Key == prev.Key:
			t["stay inside"] += weight
			if first != prev {
				t["pair "+name(prev)+" "+name(first)[2:]] += weight
			}
		default:
			where := "inside "
			if before.phraseEnd {
				where = "phrase "
			}
			t["leap "+where] += weight
			t["rel "+relation(prev.Key, first.Key)] += weight
			t["exit "+name(prev)] += weight
			t["entry "+name(first)] += weight
		}
		if last.Key != first.Key {
			t["pivot inside"] += weight
			t["rel "+relation(first.Key, last.Key)] += weight
			t["old "+name(first)] += weight
			t["new "+name(last)] += weight
		}
	}
}

// write puts the tally down in order, one count a line; from says what was counted.
func (t tally) write(w io.Writer, from string) error {
	b := bufio.NewWriter(w)
	names := make([]string, 0, len(t))
	for n := range t {
		names = append(names, n)
	}
	sort.Strings(names)
	fmt.Fprintf(b, countsHeader, from)
	for _, n := range names {
		fmt.Fprintf(b, "%s\t%g\n", n, t[n])
	}
	return b.Flush()
}

const countsHeader = `# How often numerals occur and follow one another in human analyses, counted by
# "go run ./worker/fitharmony counts" from the RomanText labels (no notes) of
# %s in the dataset "When in Rome" (Gotham, Micchi,
# Napoles Lopez, Sailor, TISMIR 6(1), 2023), CC BY-SA 4.0. This table is a
# derivative under the same licence.
#
# uni/first/last MODE NUMERAL          occurrences; at the start, end of a piece
# final/start MODE NUMERAL             at a phrase end; after one
# pair MODE FROM TO                    successions within a key
# stay/leap/pivot WHERE                successions without, with abrupt, with
#                                      pivoting change of key
# rel FIFTHS MODE MODE                 changes of key by distance
# exit/entry MODE NUMERAL              around an abrupt change
# old/new MODE NUMERAL                 the two readings of a pivot
`
