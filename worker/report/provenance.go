package report

import "encoding/json"

// Provenance says what an answer was made by, so that two answers can be told apart by
// what differs in how they were made, and that an answer can be kept where nothing does.
type Provenance struct {
	// Options are what was asked for beyond the defaults, by the names that a query has.
	// In place of a file stands "sha256:" and its hash.
	Options json.RawMessage `json:"options"`
	// Labels is the hash of an analysis that came beside the score, "" for none.
	Labels string `json:"labels,omitempty"`
	// Parts are fingerprints of the parts of the engine that the answer stands on.
	Parts Parts `json:"parts"`
	// CarriedOverBy is the version that took the answer over from an earlier one since it
	// would answer the same; "" where it was answered anew.
	CarriedOverBy string `json:"carried_over_by,omitempty"`
}

// Parts are fingerprints: where two are the same, that part of the engine is written
// alike.
type Parts struct {
	// Reading is what reads the document, its voices and its texture; Harmony the model
	// and its tables; Rules the rules that are on in the rule set, as grave as they are
	// there; Words the sentences of the language; Report all that is done with these.
	Reading string `json:"reading"`
	Harmony string `json:"harmony"`
	Rules   string `json:"rules"`
	Words   string `json:"words"`
	Report  string `json:"report"`
}

// Differing names the parts that are not the same in others, in their order.
func (p *Parts) Differing(others *Parts) []string {
	var names []string
	for _, part := range []struct{ name, a, b string }{
		{"reading", p.Reading, others.Reading}, {"harmony", p.Harmony, others.Harmony}, {"rules", p.Rules, others.Rules},
		{"words", p.Words, others.Words}, {"report", p.Report, others.Report},
	} {
		if part.a != part.b {
			names = append(names, part.name)
		}
	}
	return names
}
