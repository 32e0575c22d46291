package partwriting

import "partwright/theory"

var speciesNames = [...]string{"species-first", "species-second", "species-third", "species-fourth", "species-fifth"}

// speciesSet returns the set of one species, 1 to 5: lines and consecutives as
// Open Music Theory v1 has them, and none of the rules that read a harmony.
func speciesSet(number int) *RuleSet {
	severities := map[RuleID]Severity{}
	for _, r := range suite {
		switch r.Family {
		case ChordTones, Tendency, Progression, Embellishment:
			severities[r.ID] = Off
		}
	}
	for id, severity := range map[RuleID]Severity{
		"species-dissonance": Fault, "species-opening": Fault, "species-close": Fault,
		"imperfect-run": Caution, "climax-repeated": Remark,
		"direct-perfects-other-pairs": Caution, "all-one-direction": Off,
		"spacing": Off, "bass-gap": Off, "low-spacing": Off, "range": Remark,
		"diminished-interval": Fault, "cross-relation": Caution,
	} {
		severities[id] = severity
	}
	return &RuleSet{
		Name: speciesNames[number-1], Severities: severities,
		Limits: Limits{Species: number, DirectApproach: AnyApproach, LeapRecovery: theory.MajorThird},
	}
}
