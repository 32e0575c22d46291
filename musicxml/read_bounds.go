package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// Bounds on what one score may hold, beside those of [Limits]. The longest works
// for the stage stay far below them; they keep the score model within a few
// times the size of its text whatever the text says.
const (
	maxParts    = 1000
	maxMeasures = 100_000
	// maxLabels bounds chord symbols, figures, key and time signatures and signs
	// to jump, taken together.
	maxLabels = 200_000
	// maxLayers and maxStaves are for one part.
	maxLayers = 1 << 14
	maxStaves = 64
)

// tooMany refuses a score over one of the bounds.
func (r *reader) tooMany(id markup.ID, what string, most int) error {
	return r.refuse(id, "too-many-"+what, fmt.Sprintf("The score has more than %d %s.", most, what),
		"Split the score, or export it again.")
}

// countLabel counts one label more.
func (r *reader) countLabel(id markup.ID) error {
	if r.labelCount++; r.labelCount > maxLabels {
		return r.tooMany(id, "labels", maxLabels)
	}
	return nil
}

func (r *reader) tooLong(id markup.ID) error {
	return r.refuse(id, "score-too-long",
		fmt.Sprintf("The music runs past %d quarter notes.", theory.MaxQuarters), "Correct the durations, or split the score.")
}
