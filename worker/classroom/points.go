package classroom

import (
	"bytes"
	"fmt"
	"math"

	"partwright/theory/partwriting"
)

// Points are those of a mark, whole or half. In JSON, YAML and tables they are decimal
// numbers, "12.5".
type Points partwriting.Points

// String returns "12" or "12.5".
func (p Points) String() string { return partwriting.Points(p).String() }

// MarshalJSON implements [json.Marshaler].
func (p Points) MarshalJSON() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalJSON implements [json.Unmarshaler].
func (p *Points) UnmarshalJSON(text []byte) error {
	points, err := ParsePoints(string(text))
	*p = points
	return err
}

// MarshalYAML writes the number.
func (p Points) MarshalYAML() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalYAML reads the number.
func (p *Points) UnmarshalYAML(text []byte) error { return p.UnmarshalJSON(bytes.TrimSpace(text)) }

// ParsePoints reads whole or half points from 0 to 1000.
func ParsePoints(text string) (Points, error) {
	p, err := partwriting.ParsePoints(text)
	return Points(p), err
}

// pointsOf reads the points of a report, which may be more than a teacher can write.
func pointsOf(text fmt.Stringer) Points {
	var f float64
	if _, err := fmt.Sscan(text.String(), &f); err != nil {
		return 0
	}
	return Points(math.Round(2 * f))
}

// share is part of whole in points of available, to the nearest half; half of a half goes
// up.
func share(part, whole, available Points) Points {
	if whole == 0 {
		return 0
	}
	return Points(math.Floor(float64(part)*float64(available)/float64(whole) + 0.5))
}
