package container

import (
	"fmt"
	"strings"
	"testing"
)

// longScore is a score of the size of a chorale (short) or a symphony (long).
func longScore(measures int) string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n<score-partwise version=\"4.0\">\n")
	for m := range measures {
		fmt.Fprintf(&b, "    <measure number=\"%d\">\n", m)
		for n := range 4 {
			fmt.Fprintf(&b, "      <note>\n        <pitch>\n          <step>%c</step>\n          <octave>4</octave>\n        </pitch>\n        <duration>%d</duration>\n        <type>quarter</type>\n      </note>\n", 'A'+(m*3+n)%7, 1+m*n%5)
		}
		b.WriteString("    </measure>\n")
	}
	b.WriteString("</score-partwise>\n")
	return b.String()
}

func BenchmarkContainer(b *testing.B) {
	for name, measures := range map[string]int{"short": 80, "long": 8000} {
		score := longScore(measures)
		data := pack(b, listing(`<rootfile full-path="s.xml"/>`), entry{name: "s.xml", data: score})
		b.Run("open/"+name, func(b *testing.B) {
			b.SetBytes(int64(len(score)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Open(data, Limits{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		c, err := Open(data, Limits{})
		if err != nil {
			b.Fatal(err)
		}
		other := append([]byte(score), ' ')
		b.Run("repack/"+name, func(b *testing.B) {
			b.SetBytes(int64(len(score)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := c.Repack(other); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
