package markup

import (
	"errors"
	"runtime"
	"strconv"
	"strings"
	"testing"
)

func TestLimits(t *testing.T) {
	many := strings.Repeat("<b c='1'/>", 50)
	attributes := "<a"
	for _, c := range "bcdefghijk" {
		attributes += " " + string(c) + "='1'"
	}
	var names strings.Builder
	for i := range 66_000 {
		names.WriteString("<x" + strconv.Itoa(i) + "/>")
	}
	tests := []struct {
		name, text string
		limits     Limits
		says       string
	}{
		{"bytes", "<a>1234567890</a>", Limits{Bytes: 10}, "more than 10 bytes"},
		{"depth", strings.Repeat("<a>", 6) + strings.Repeat("</a>", 6), Limits{Depth: 5}, "more than 5 deep"},
		{"default depth", strings.Repeat("<a>", 65) + strings.Repeat("</a>", 65), Limits{}, "more than 64 deep"},
		{"elements", "<a>" + many + "</a>", Limits{Elements: 50}, "more than 50 elements"},
		{"attributes of one", attributes + "/>", Limits{Attributes: 9}, "more than 9 attributes in one tag"},
		{"attributes of all", "<a>" + many + "</a>", Limits{TotalAttributes: 49}, "more than 49 attributes in all"},
		{"names", "<a>" + names.String() + "</a>", Limits{}, "different names"},
	}
	for _, tt := range tests {
		// The limits hold on both ways of reading.
		for _, end := range []string{"", "<?end?>"} {
			_, err := Parse([]byte(tt.text+end), tt.limits)
			if !errors.Is(err, ErrLimit) || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("%s: %v", tt.name, err)
			}
		}
	}
	if _, err := Parse([]byte(strings.Repeat("<a>", 64)+strings.Repeat("</a>", 64)), Limits{}); err != nil {
		t.Errorf("at the limit: %v", err)
	}
}

// TestHostileTextTakesBoundedMemory parses texts that promise far more markup
// than they hold, or hold more than is allowed.
func TestHostileTextTakesBoundedMemory(t *testing.T) {
	const size = 4 << 20
	fill := func(s string) string { return strings.Repeat(s, size/len(s)) }
	limits := Limits{Elements: 10_000, TotalAttributes: 10_000}
	for name, text := range map[string]string{
		"slashes":                   "<a>" + fill("/") + "</a>",
		"equals signs":              "<a>" + fill("=") + "</a>",
		"one tag":                   "<a" + fill(" b=''") + "/>",
		"one tag after CDATA":       "<a><![CDATA[]]><b" + fill(" b=''") + "/></a>",
		"one tag, one-letter names": "<a><![CDATA[]]><b " + fill("b=") + "/></a>",
		"depth":                     fill("<a>"),
		"depth after CDATA":         "<a><![CDATA[]]>" + fill("<a>"),
		"siblings":                  "<a>" + fill("<b/>") + "</a>",
		"siblings after CDATA":      "<a><![CDATA[]]>" + fill("<b/>") + "</a>",
		"names":                     "<a>" + fill("<") + "</a>",
		"one name":                  "<" + fill("a"),
		"comments":                  "<a>" + fill("<!-- -->") + "</a>",
		"references":                "<a>" + fill("&amp;") + "</a>",
		"open reference":            "<a>" + fill("&#") + "</a>",
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := Parse([]byte(text), limits)
		runtime.ReadMemStats(&after)
		if used := after.TotalAlloc - before.TotalAlloc; used > 12*size {
			t.Errorf("%s: %d MB for %d MB of text (%v)", name, used>>20, size>>20, err)
		}
		t.Logf("%s: %d kB, %v", name, (after.TotalAlloc-before.TotalAlloc)>>10, err)
	}
}
