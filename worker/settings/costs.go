package settings

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"partwright/theory/voicing"
)

// CostsFile is what a [Error] about costs says that the file should hold.
const CostsFile = "list of costs"

// MostCost is the highest cost that a file may set, in semitones of an upper voice.
// With more, the costs of one change could reach what a broken rule counts.
const MostCost = 20

// Costs are a teacher's own weights, in hundredths of a semitone, by the name of the
// charge.
type Costs map[string]voicing.Cost

// ReadCosts reads what a teacher charges for, from YAML 1.2, of which JSON is a part:
//
//	leap: 1.5
//	soprano-stays: 0
//
// A charge that the file does not name keeps the cost that the style has. Costs are
// from 0 to [MostCost], with two decimals at most. Every problem is reported with its
// line, as a [*Error].
func ReadCosts(file string, data []byte) (Costs, error) {
	return read(file, data, CostsFile, (*reader).costs)
}

func (r *reader) costs(body ast.Node) Costs {
	costs, names := Costs{}, voicing.ChargeNames()
	for _, e := range r.entries(body, "the file") {
		if _, twice := costs[e.key]; twice {
			r.problem(e.node, "%s stands here a second time", e.key)
		}
		if !slices.Contains(names, e.key) {
			r.problem(e.node, "there is no charge %q%s; there are %s", e.key, r.didYouMean(e.key, names), strings.Join(names, ", "))
			continue
		}
		costs[e.key] = r.cost(e)
	}
	if len(costs) == 0 {
		r.problem(body, "no charge is named; write lines such as \"leap: 1\"")
	}
	return costs
}

// cost reads a number of semitones.
func (r *reader) cost(e entry) voicing.Cost {
	text := r.text(e)
	n, err := strconv.ParseFloat(text, 64)
	hundredths := math.Round(n * 100)
	if err != nil || !(n >= 0 && n <= MostCost) || math.Abs(n*100-hundredths) > 1e-6 {
		r.problem(e.value, "%s: %q is no cost; write a number from 0 to %d with at most two decimals", e.key, text, MostCost)
		return 0
	}
	return voicing.Cost(hundredths)
}

// Apply sets the weights that the costs name.
func (c Costs) Apply(w *voicing.Weights) {
	for name, cost := range c {
		w.Set(name, cost)
	}
}
