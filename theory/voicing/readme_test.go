package voicing

import (
	"os"
	"strconv"
	"strings"
	"testing"
)

// TestEveryChargeIsListed holds the table of what a voicing costs to the weights.
func TestEveryChargeIsListed(t *testing.T) {
	document, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	weights := defaultWeights()
	for _, term := range terms {
		weight := strconv.FormatFloat(float64(*term.of(&weights))/100, 'f', -1, 64)
		if row := "| `" + term.name + "` | " + weight + " | " + term.says + " |"; !strings.Contains(string(document), row) {
			t.Errorf("the table of charges in README.md lacks %s", row)
		}
	}
}
