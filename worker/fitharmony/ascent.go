package main

import (
	"fmt"
	"io"
)

// ascendKnobs turns one knob after another as long as that makes value greater by
// more than gain; it goes on in a direction that helps.
func ascendKnobs(w io.Writer, weights map[string]float64, knobs []knob, rounds int, gain float64, value func(map[string]float64) float64) map[string]float64 {
	best := value(weights)
	fmt.Fprintf(w, "start: %.3f\n", best)
	for range rounds {
		before := best
		for _, k := range knobs {
			for _, step := range k.steps {
				turned := false
				for {
					try := k.turned(weights, step)
					v := value(try)
					if v <= best+gain {
						break
					}
					weights, best, turned = try, v, true
					fmt.Fprintf(w, "%s %.3g: %.3f\n", k.name, step, best)
				}
				if turned {
					break
				}
			}
		}
		if best-before < 5*gain {
			break
		}
	}
	return weights
}
