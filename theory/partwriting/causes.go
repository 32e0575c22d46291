package partwriting

// causes lists which findings bring which others along: a note that is doubled
// and must not be makes octaves on its way in or out, a wrong one leaves the right
// one missing.
var causes = map[RuleID]map[RuleID]bool{
	"leading-tone-doubled": {"parallel-octaves": true, "parallel-unisons": true, "contrary-octaves": true},
	"seventh-doubled":      {"parallel-octaves": true, "parallel-unisons": true, "contrary-octaves": true},
	"altered-tone-doubled": {"parallel-octaves": true, "parallel-unisons": true, "contrary-octaves": true},
	"diminished-interval":  {"unrecovered-leap": true},
	"augmented-interval":   {"unrecovered-leap": true},
	"leap-of-seventh":      {"unrecovered-leap": true},
	"leap-over-octave":     {"unrecovered-leap": true},
	"member-misspelled":    {"root-missing": true, "third-missing": true, "fifth-missing": true, "seventh-missing": true},
	"note-outside-chord":   {"root-missing": true, "third-missing": true, "fifth-missing": true, "seventh-missing": true},
}

// linkCauses marks findings that follow from another one at the same notes, and
// lets the cause name the notes of what it brings along.
func linkCauses(findings []Finding) {
	for i := range findings {
		cause := &findings[i]
		effects := causes[cause.Rule]
		if effects == nil {
			continue
		}
		for j := range findings {
			effect := &findings[j]
			if !effects[effect.Rule] || effect.Cause != "" || shared(cause.Notes, effect.Notes) < min(2, len(cause.Notes)) {
				continue
			}
			effect.Cause = cause.Rule
			for _, r := range effect.Notes {
				if shared([]NoteRef{r}, cause.Notes) == 0 && shared([]NoteRef{r}, cause.Related) == 0 {
					cause.Related = append(cause.Related, r)
				}
			}
		}
	}
}

// shared counts the notes that two lists have in common.
func shared(a, b []NoteRef) int {
	n := 0
	for _, r := range a {
		for _, s := range b {
			if r == s {
				n++
			}
		}
	}
	return n
}
