package command

import (
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
)

// wrap breaks lines between words, without the blanks that the library pads
// them with.
func wrap(s string, width int) string {
	lines := strings.Split(text.WrapSoft(s, width), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " ")
	}
	return strings.Join(lines, "\n")
}
