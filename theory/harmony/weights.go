package harmony

import (
	_ "embed"
	"strconv"
	"strings"
)

// weights are the numbers of the model, in units of log probability: how much
// speaks against a reading. weights.tsv holds their values; "go run
// ./worker/fitharmony weights" fits them.
type weights struct {
	// weak and strong are the cost of a foreign note of each figure off and on
	// the beat, for half a beat; held is that of one sounding on from before.
	weak, strong, held [numFigures]float32
	// missing is what it costs that a member of the chord does not sound: root,
	// third, fifth, seventh, for triads and for sevenths; missingDim adds to a
	// missing fifth that is diminished or augmented.
	missing    [2][4]float32
	missingDim float32
	// lateRoot, lateThird and lateSeventh are for members that are not there from
	// the start.
	lateRoot, lateThird, lateSeventh float32
	// bassMoves is for each beat with another member in the bass, bassForeign for
	// a first bass that is foreign to the chord.
	bassMoves, bassForeign float32
	// bassRises is in place of bassMoves where the other member lies higher than the bass
	// that has sounded: in a broken chord that bass goes on in the ear.
	bassRises float32
	// begin is the cost of beginning a harmony at a place of each metrical
	// level: off the beat, on a beat, mid-measure, downbeat. again adds where
	// the same chord is said once more.
	begin [4]float32
	again float32
	// outside is for each beat of a note outside the scale of the key.
	outside float32
	// habits and keyHabits scale the log probabilities of succession and of
	// changes of key; firstHabits that of the beginning, endHabits and lastHabits
	// the bonus of phrase ends and of the end.
	habits, keyHabits, firstHabits, endHabits, lastHabits float32
	// leap adds to an abrupt change of key, pivot to one on a pivot.
	leap, pivot float32
	// unsettled is for leaving a key without having heard tonic and dominant.
	unsettled float32
	// signature is for each fifth between the first key and the key signature.
	signature float32
	// keyNet and rootNet scale the log probabilities that the net gives keys and
	// roots, for each beat; beginNet and withinNet the odds of a harmony that begins
	// on a beat and off it.
	keyNet, rootNet, beginNet, withinNet float32
	// certainBase, certainSlope, certainBrevity and certainPhrasing turn a margin, the
	// brevity of the piece and the phrases told in it into a confidence; no piece counts as
	// briefer than certainBriefest, since none was that they were fitted on.
	certainBase, certainSlope, certainBrevity, certainPhrasing, certainBriefest float32
}

//go:embed weights.tsv
var weightsTable string

// figureNames name the figures in weights.tsv, in their order.
var figureNames = [numFigures]string{"passing", "neighbor", "held-down", "held-up", "repeated",
	"anticipation", "leap-step-back", "leap-step-on", "step-leap", "step-end", "begins", "leaps"}

// named lists every weight under its name.
func (w *weights) named(visit func(name string, value *float32)) {
	for i, f := range figureNames {
		visit("weak "+f, &w.weak[i])
		visit("strong "+f, &w.strong[i])
		visit("held "+f, &w.held[i])
	}
	for i, size := range [2]string{"triad", "seventh"} {
		for m, member := range [4]string{"root", "third", "fifth", "seventh"} {
			visit("missing "+size+" "+member, &w.missing[i][m])
		}
	}
	for i, level := range [4]string{"off", "beat", "middle", "downbeat"} {
		visit("begin "+level, &w.begin[i])
	}
	visit("missing altered-fifth", &w.missingDim)
	visit("late root", &w.lateRoot)
	visit("late third", &w.lateThird)
	visit("late seventh", &w.lateSeventh)
	visit("bass moves", &w.bassMoves)
	visit("bass rises", &w.bassRises)
	visit("bass foreign", &w.bassForeign)
	visit("again", &w.again)
	visit("outside", &w.outside)
	visit("habits", &w.habits)
	visit("key-habits", &w.keyHabits)
	visit("first-habits", &w.firstHabits)
	visit("end-habits", &w.endHabits)
	visit("last-habits", &w.lastHabits)
	visit("leap", &w.leap)
	visit("pivot", &w.pivot)
	visit("unsettled", &w.unsettled)
	visit("key-net", &w.keyNet)
	visit("root-net", &w.rootNet)
	visit("begin-net", &w.beginNet)
	visit("within-net", &w.withinNet)
	visit("certain base", &w.certainBase)
	visit("certain slope", &w.certainSlope)
	visit("certain brevity", &w.certainBrevity)
	visit("certain phrasing", &w.certainPhrasing)
	visit("certain briefest", &w.certainBriefest)
	visit("signature", &w.signature)
}

func newWeights(values map[string]float64) *weights {
	w := &weights{}
	w.named(func(name string, value *float32) { *value = float32(values[name]) })
	return w
}

// ParseTable reads lines of a name, a tab and a number; "#" begins a comment.
// The tables are our own: a bad line is a mistake in the build and shows in
// TestTables.
func ParseTable(text string) map[string]float64 {
	values := map[string]float64{}
	for _, line := range strings.Split(text, "\n") {
		name, value, ok := strings.Cut(line, "\t")
		if !ok || strings.HasPrefix(line, "#") {
			continue
		}
		if n, err := strconv.ParseFloat(strings.TrimSpace(value), 64); err == nil {
			values[name] = n
		}
	}
	return values
}

// foreign returns the cost of a note that its chord does not contain. A note
// held from before weighs by its duration only.
func (w *weights) foreign(f figure, held bool, level int8, beats float32, atOnset bool) float32 {
	switch {
	case held:
		return w.held[f] * 2 * beats
	case level > 0 && atOnset:
		return w.strong[f] * (0.2 + 1.6*beats)
	}
	return w.weak[f] * (0.2 + 1.6*beats)
}
