package report

import "strconv"

// Height is a MIDI number in JSON, or "-" where there is none.
type Height struct {
	Number  float64
	Pitched bool
}

// MarshalJSON writes 60, 60.5 or "-".
func (h Height) MarshalJSON() ([]byte, error) {
	if !h.Pitched {
		return []byte(`"-"`), nil
	}
	return strconv.AppendFloat(nil, h.Number, 'f', -1, 64), nil
}

// UnmarshalJSON reads what [Height.MarshalJSON] writes.
func (h *Height) UnmarshalJSON(text []byte) error {
	*h = Height{}
	if string(text) == `"-"` {
		return nil
	}
	number, err := strconv.ParseFloat(string(text), 64)
	if err == nil {
		*h = Height{number, true}
	}
	return err
}
