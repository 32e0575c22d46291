package main

import (
	"bufio"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// pedalLine is how RomanText notes a pedal point: its note, and from where until where.
var pedalLine = regexp.MustCompile(`^\s*Pedal:\s*([A-Ga-g][#b]*)\s+m(\d+)(?:\s+b[\d.]+)?(?:\s+m+(\d+))?`)

// pedal is a pedal point that a musician has named, in the measures of the analysis.
type pedal struct {
	class       theory.PitchClass
	first, last int
}

// namedPedals are the pedal points that the analysts of the dataset "When in Rome" wrote
// down beside their numerals.
func namedPedals(t *testing.T, path string) []pedal {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	var out []pedal
	for lines := bufio.NewScanner(file); lines.Scan(); {
		m := pedalLine.FindStringSubmatch(lines.Text())
		if m == nil {
			continue
		}
		class, err := theory.ParsePitchClass(string(m[1][0]&^0x20) + m[1][1:])
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		first, _ := strconv.Atoi(m[2])
		last, err := strconv.Atoi(m[3])
		if err != nil {
			last = first
		}
		out = append(out, pedal{class, first, last})
	}
	return out
}

// span is where the measures of a pedal point lie in the score.
func (p *pedal) span(placed []harmony.Placed, end theory.Fraction) (from, until theory.Fraction) {
	until = end
	begun := false
	for i := range placed {
		switch m := placed[i].Measure; {
		case m > p.last:
			return from, placed[i].Onset
		case m >= p.first && !begun:
			from, begun = placed[i].Onset, true
		}
	}
	return from, until
}

// is reports whether a device is the pedal point: on its note, at the same time.
func (p *pedal) is(a *harmony.Analysis, d harmony.Device, from, until theory.Fraction) bool {
	first, last := &a.Harmonies[d.First], &a.Harmonies[d.Last]
	degree, _ := first.Key.Degree(p.class)
	return d.Name == strconv.Itoa(degree) && first.Onset.Less(until) && from.Less(last.End)
}

// TestPedalPointsThatMusiciansName: how many of the pedal points that analysts wrote
// down are named, from the notes alone and over the analysts' own chords.
func TestPedalPointsThatMusiciansName(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every labeled score")
	}
	data := filepath.Join("..", "..", "..", "shared", "data")
	for _, name := range []string{"chorales", "songs"} {
		s, err := readSet(data, name)
		if err != nil {
			t.Skipf("no measuring data: %v", err)
		}
		stated, byNotes, byLabels := 0, 0, 0
		others := [2]int{}
		for _, e := range s.examples {
			path := filepath.Join(data, setFiles[name].labels, e.name+".txt")
			pedals := namedPedals(t, path)
			placed := e.labels.Place(e.texture)
			var labels []harmony.Label
			for i := range placed {
				if i+1 < len(placed) && placed[i+1].Onset == placed[i].Onset {
					continue
				}
				labels = append(labels, harmony.Label{Onset: placed[i].Onset, Reading: placed[i].Reading})
			}
			for k, a := range []*harmony.Analysis{harmony.Analyze(e.texture), harmony.Assume(e.texture, labels)} {
				var found []harmony.Device
				for _, d := range a.Devices() {
					if d.Kind == harmony.PedalPoint {
						found = append(found, d)
					}
				}
				others[k] += len(found)
				for i := range pedals {
					from, until := pedals[i].span(placed, e.texture.Score.End())
					for _, d := range found {
						if !pedals[i].is(a, d, from, until) {
							continue
						}
						if k == 0 {
							byNotes++
						} else {
							byLabels++
						}
						t.Logf("%s %v m%d: found (%d)", e.name, pedals[i].class, pedals[i].first, k)
						break
					}
				}
			}
			stated += len(pedals)
			for i := range pedals {
				t.Logf("%s %v m%d to %d", e.name, pedals[i].class, pedals[i].first, pedals[i].last)
			}
		}
		t.Logf("%s: %d pedal points stated; named from the notes %d, over the analysts' chords %d; named in all %v", name, stated, byNotes, byLabels, others)
	}
}
