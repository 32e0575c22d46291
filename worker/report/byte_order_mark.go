package report

import "io"

// WithBOM writes a byte order mark in front of all that is written, by which some
// spreadsheets know UTF-8.
func WithBOM(w io.Writer) io.Writer { return &marked{w: w} }

type marked struct {
	w     io.Writer
	begun bool
}

const byteOrderMark = "\uFEFF"

func (m *marked) Write(p []byte) (int, error) {
	if !m.begun {
		m.begun = true
		if _, err := io.WriteString(m.w, byteOrderMark); err != nil {
			return 0, err
		}
	}
	return m.w.Write(p)
}
