package main

import (
	"bufio"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
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

// analystsLabels are the chords of a human analysis, the later key's where a pivot stands.
func analystsLabels(placed []harmony.Placed) []harmony.Label {
	var out []harmony.Label
	for i := range placed {
		if i+1 < len(placed) && placed[i+1].Onset == placed[i].Onset {
			continue
		}
		out = append(out, harmony.Label{Onset: placed[i].Onset, Reading: placed[i].Reading})
	}
	return out
}

// devicesOf are the devices of one kind.
func devicesOf(a *harmony.Analysis, kind harmony.DeviceKind) []harmony.Device {
	var out []harmony.Device
	for _, d := range a.Devices() {
		if d.Kind == kind {
			out = append(out, d)
		}
	}
	return out
}

// TestPedalPointsThatMusiciansName: how many of the pedal points that analysts of the
// dataset "When in Rome" wrote down are named over the analysts' own chords, and from the
// notes alone. They wrote down what struck them: what else is named need not be wrong.
func TestPedalPointsThatMusiciansName(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every labeled score")
	}
	data := filepath.Join("..", "..", "..", "shared", "data")
	for _, c := range []struct {
		set   string
		least [2]int // over the analysts' chords, from the notes
	}{{"chorales", [2]int{10, 2}}, {"songs", [2]int{16, 10}}} {
		s, err := readSet(data, c.set)
		if err != nil {
			t.Skipf("no measuring data: %v", err)
		}
		stated, found, named := 0, [2]int{}, [2]int{}
		for _, e := range s.examples {
			pedals := namedPedals(t, filepath.Join(data, setFiles[c.set].labels, e.name+".txt"))
			placed := e.labels.Place(e.texture)
			stated += len(pedals)
			both := []*harmony.Analysis{harmony.Assume(e.texture, analystsLabels(placed)), harmony.Analyze(e.texture)}
			for k, a := range both {
				devices := devicesOf(a, harmony.PedalPoint)
				named[k] += len(devices)
				for i := range pedals {
					from, until := pedals[i].span(placed, e.texture.Score.End())
					if slices.ContainsFunc(devices, func(d harmony.Device) bool { return pedals[i].is(a, d, from, until) }) {
						found[k]++
					}
				}
			}
		}
		t.Logf("%s: of %d pedal points that analysts wrote down %d are named over their chords (%d named in all), %d from the notes alone (%d)",
			c.set, stated, found[0], named[0], found[1], named[1])
		if found[0] < c.least[0] || found[1] < c.least[1] {
			t.Errorf("%s: %d pedal points found over the analysts' chords and from the notes, want %d", c.set, found, c.least)
		}
	}
}

// notedSequences are chorales in whose analyses somebody noted a sequence or a row of
// sixths ("fauxbourdon"); which of the kinds that are named it is, is our reading of the
// notes.
var notedSequences = map[string][]string{
	"parallel-sixths":   {"059", "077", "099", "123", "135", "147", "173", "199", "201", "203", "223", "285"},
	"descending-fifths": {"211", "233"},
	"ascending-fifths":  {"115", "213", "241"},
}

// TestSequencesThatMusiciansNote: how many of them are named in their chorales.
func TestSequencesThatMusiciansNote(t *testing.T) {
	if testing.Short() {
		t.Skip("reads labeled scores")
	}
	s, err := readSet(filepath.Join("..", "..", "..", "shared", "data"), "chorales")
	if err != nil {
		t.Skipf("no measuring data: %v", err)
	}
	total := [2]int{}
	for _, kind := range slices.Sorted(maps.Keys(notedSequences)) {
		noted, found := 0, [2]int{}
		for _, e := range s.examples {
			if !slices.Contains(notedSequences[kind], e.name) {
				continue
			}
			noted++
			for k, a := range []*harmony.Analysis{harmony.Assume(e.texture, analystsLabels(e.labels.Place(e.texture))), harmony.Analyze(e.texture)} {
				if slices.ContainsFunc(devicesOf(a, harmony.Sequence), func(d harmony.Device) bool { return d.Name == kind }) {
					found[k]++
				}
			}
		}
		t.Logf("%s noted in %d chorales: named in %d over the analysts' chords, in %d from the notes alone", kind, noted, found[0], found[1])
		total[0], total[1] = total[0]+found[0], total[1]+found[1]
	}
	if total[0] < leastSequences {
		t.Errorf("%d sequences named over the analysts' chords, want %d", total[0], leastSequences)
	}
}

// leastSequences is what is named today.
const leastSequences = 1
