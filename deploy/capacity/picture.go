package main

import (
	"fmt"
	"math"
	"strings"
)

// Frame of the picture, in its own units.
const (
	left, top     = 70.0, 20.0
	width, height = 520.0, 280.0
	leastDay      = 1e5
	mostDay       = 1e9
	leastShare    = 0.001
	mostShare     = 10.0
)

func across(perDay float64) float64 {
	return left + width*math.Log10(perDay/leastDay)/math.Log10(mostDay/leastDay)
}

func down(share float64) float64 {
	return top + height*(1-math.Log10(share/leastShare)/math.Log10(mostShare/leastShare))
}

// picture draws how much of each bound of one database is taken by how many scores
// a day. Both scales are logarithmic; lines are told apart by dashes, not by color.
func picture(c Costs, b Bounds) string {
	var s strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 780 360" font-family="sans-serif" font-size="12">
<rect width="780" height="360" fill="#fff"/>
<rect x="%g" y="%g" width="%g" height="%g" fill="none" stroke="#444"/>
`, left, top, width, height)
	for day := leastDay; day <= mostDay*1.01; day *= 10 {
		x := across(day)
		fmt.Fprintf(&s, `<line x1="%.1f" x2="%.1f" y1="%g" y2="%g" stroke="#ddd"/><text x="%.1f" y="%g" text-anchor="middle">%g</text>`+"\n",
			x, x, top, top+height, x, top+height+16, day/1e6)
	}
	for share := leastShare; share <= mostShare*1.01; share *= 10 {
		fmt.Fprintf(&s, `<line x1="%g" x2="%g" y1="%.1f" y2="%.1f" stroke="#ddd"/><text x="%g" y="%.1f" text-anchor="end">%g %%</text>`+"\n",
			left, left+width, down(share), down(share), left-6, down(share)+4, math.Round(share*1e5)/1e3)
	}
	fmt.Fprintf(&s, `<text x="%g" y="%g" text-anchor="middle">million scores a day</text>`+"\n", left+width/2, top+height+36)
	fmt.Fprintf(&s, `<line x1="%g" x2="%g" y1="%.1f" y2="%.1f" stroke="#b00" stroke-width="2"/>`+"\n", left, left+width, down(1), down(1))
	dashes := []string{"", "8 4", "2 3", "12 3 2 3"}
	for i, l := range limits(c, b) {
		// Every share grows in proportion, which is a straight line here.
		from, to := max(leastDay, leastShare*l.PerDay), min(mostDay, mostShare*l.PerDay)
		y := top + 20 + 22*float64(i)
		fmt.Fprintf(&s, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="#124" stroke-width="2" stroke-dasharray="%s"/>`+"\n",
			across(from), down(from/l.PerDay), across(to), down(to/l.PerDay), dashes[i])
		fmt.Fprintf(&s, `<line x1="600" x2="630" y1="%g" y2="%g" stroke="#124" stroke-width="2" stroke-dasharray="%s"/><text x="636" y="%g">%s</text>`+"\n",
			y, y, dashes[i], y+4, l.Name)
	}
	s.WriteString("</svg>\n")
	return s.String()
}
