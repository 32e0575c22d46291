package tune

import (
	"fmt"
	"strings"
	"testing"
)

// The tables that come with the program are whole.
func TestBuiltInTables(t *testing.T) {
	for _, line := range []Line{Melody, Bass} {
		if err := Default(line).complete(); err != nil {
			t.Errorf("line %d: %v", line, err)
		}
	}
}

// A table that was embedded while it was being written is an error when it is asked for.
func TestTablesThatLackSomethingAreRefused(t *testing.T) {
	const major, minor = "chord\tM\tI\t60000\nnote\tM\tany\t0\t0:1\n", "chord\tm\ti\t60000\nnote\tm\tany\t0\t0:1\n"
	for table, want := range map[string]string{
		"":                                "no chord of mode \"M\"",
		heads[Melody] + rowsOf:            "no chord of mode \"M\"",
		major:                             "no chord of mode \"m\"",
		minor:                             "no chord of mode \"M\"",
		major + "chord\tm\ti\t60000\n":    "no weight of a note in mode \"m\"",
		major + minor + "note\tm\tany\t0": "no row of the table",
	} {
		if got := refusal(table); !strings.Contains(got, want) || !strings.Contains(got, "tunes") {
			t.Errorf("%q: %q, want %q", table, got, want)
		}
	}
	if got := refusal(major + minor); got != "" {
		t.Errorf("a whole table is refused: %s", got)
	}
}

func refusal(table string) (said string) {
	defer func() {
		if r := recover(); r != nil {
			said = fmt.Sprint(r)
		}
	}()
	builtIn("tunes", &table)()
	return ""
}
