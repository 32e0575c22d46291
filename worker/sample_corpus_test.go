package worker

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Sizes of what is drawn: findings of each of the commonest rules, and faults
// whatever their rule.
const (
	sampledRules  = 10
	perRuleSample = 20
	faultSample   = 40
)

// sampled is a finding that may be drawn, with what a judge needs to see.
type sampled struct {
	score    string
	texture  *theory.Texture
	analysis *harmony.Analysis
	finding  partwriting.Finding
}

// Draws findings on the chorales for a musician to judge right, debatable or wrong,
// each with the music around it. PARTWRIGHT_SAMPLE is the seed: the same one draws
// the same findings from the same answers. PARTWRIGHT_SAMPLE_RULES names rules, with
// commas between, to draw from in place of the commonest.
func TestSampleToJudge(t *testing.T) {
	seed, err := strconv.ParseUint(os.Getenv("PARTWRIGHT_SAMPLE"), 10, 64)
	if err != nil {
		t.Skip("PARTWRIGHT_SAMPLE=SEED draws findings to judge")
	}
	scores, _ := filepath.Glob(filepath.Join(measuringData(t, "chorales-open"), "*.mxl"))
	byRule, faults := map[partwriting.RuleID][]sampled{}, []sampled(nil)
	for _, path := range scores {
		texture := voicesOf(t, path)
		analysis := harmony.Analyze(texture)
		for _, f := range partwriting.Check(texture, analysis, nil) {
			if f.Severity < partwriting.Caution {
				continue
			}
			s := sampled{strings.TrimSuffix(filepath.Base(path), ".mxl"), texture, analysis, f}
			byRule[f.Rule] = append(byRule[f.Rule], s)
			if f.Severity == partwriting.Fault {
				faults = append(faults, s)
			}
		}
	}
	random := rand.New(rand.NewPCG(seed, 0)) // #nosec G404 -- a sample, no secret
	rules := commonest(byRule, sampledRules)
	if named := os.Getenv("PARTWRIGHT_SAMPLE_RULES"); named != "" {
		rules = nil
		for id := range strings.SplitSeq(named, ",") {
			rules = append(rules, partwriting.RuleID(id))
		}
	}
	for _, rule := range rules {
		drawn := draw(random, byRule[rule], perRuleSample)
		t.Logf("== %s: %d of %d", rule, len(drawn), len(byRule[rule]))
		show(t, drawn)
	}
	drawn := draw(random, faults, faultSample)
	t.Logf("== faults: %d of %d", len(drawn), len(faults))
	show(t, drawn)
}

func commonest(byRule map[partwriting.RuleID][]sampled, n int) []partwriting.RuleID {
	var ids []partwriting.RuleID
	for _, r := range partwriting.Rules() {
		if len(byRule[r.ID]) > 0 {
			ids = append(ids, r.ID)
		}
	}
	slices.SortStableFunc(ids, func(a, b partwriting.RuleID) int { return len(byRule[b]) - len(byRule[a]) })
	return ids[:min(n, len(ids))]
}

func draw(random *rand.Rand, all []sampled, n int) []sampled {
	order := random.Perm(len(all))
	var drawn []sampled
	for _, i := range order[:min(n, len(order))] {
		drawn = append(drawn, all[i])
	}
	return drawn
}

func show(t *testing.T, drawn []sampled) {
	catalog, _ := partwriting.CatalogFor("en")
	for i := range drawn {
		s := &drawn[i]
		f := &s.finding
		t.Logf("%2d %s %s, %s: %s (%s)\n%s", i+1, s.score, catalog.Place(f, s.texture), f.Severity, catalog.Message(f, s.texture), voiceLetters(s.texture, f), s.music(5))
	}
}

// music writes the sonorities around a finding, one a line: measure and beat, what
// each voice strikes, or a hyphen before what it holds, and the harmony. A "/" ends
// a phrase, "*" is the place of the finding.
func (s *sampled) music(around int) string {
	passage := partwriting.NewPassage(s.texture, s.analysis, nil)
	here := 0
	for m := range s.texture.Moments {
		if !s.finding.Onset.Less(s.texture.Moments[m].Onset) {
			here = m
		}
	}
	var b strings.Builder
	for m := max(0, here-around); m < min(len(s.texture.Moments), here+around+1); m++ {
		moment := &s.texture.Moments[m]
		measure := &s.texture.Score.Measures[moment.Measure]
		sign := " "
		if m == here {
			sign = "*"
		}
		fmt.Fprintf(&b, "  %s %4s %-5g", sign, measure.Label, measure.Time.BeatAt(moment.Offset).Float())
		for v := range s.texture.Voices {
			note := "."
			if sounding := s.texture.Sounding(m, v); sounding != nil {
				note = sounding.Pitch.String()
				if !s.texture.IsStruck(m, v) {
					note = "-" + note
				}
			}
			fmt.Fprintf(&b, " %-5s", note)
		}
		if h := s.analysis.At(m); h != nil {
			fmt.Fprintf(&b, " %-12s %.2f", h.String(), h.Confidence)
		}
		if passage.PhraseEnd(m) {
			b.WriteString(" /")
		}
		b.WriteByte('\n')
	}
	return b.String()
}
