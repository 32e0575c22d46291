package beatnet

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// A file begins with lines of text that say where the net comes from, each with
// "#" in front, and an empty line. Then come four whole numbers of two bytes, the
// lower byte first: the version, and how many inputs, hidden places and outputs
// there are. Rows follow: one for each input, one of biases, one for each output,
// each as a scale (IEEE 754, four bytes, lower first) and one signed byte a weight,
// which the scale is to be multiplied with; at last the priors in the same way.

const version = 1

// Write writes a net. Each weight is rounded to the nearest of 255 steps of its
// row.
func Write(w io.Writer, comment string, n *Net) error {
	var b strings.Builder
	for _, line := range strings.Split(strings.TrimSpace(comment), "\n") {
		b.WriteString(strings.TrimSpace("# "+line) + "\n")
	}
	b.WriteByte('\n')
	out := []byte(b.String())
	for _, v := range [4]int{version, Inputs, n.Hidden, Outputs} {
		out = binary.LittleEndian.AppendUint16(out, uint16(v))
	}
	for i := range Inputs {
		out = appendRow(out, n.In[i*n.Hidden:][:n.Hidden])
	}
	out = appendRow(out, n.Bias)
	for k := range Outputs {
		out = appendRow(out, n.Out[k*n.Hidden:][:n.Hidden])
	}
	_, err := w.Write(appendRow(out, n.Prior))
	return err
}

func appendRow(out []byte, row []float32) []byte {
	most := float32(0)
	for _, v := range row {
		most = max(most, v, -v)
	}
	scale := most / 127
	out = binary.LittleEndian.AppendUint32(out, math.Float32bits(scale))
	for _, v := range row {
		step := 0.0
		if scale > 0 {
			step = math.Round(float64(v / scale))
		}
		out = append(out, byte(int8(step)))
	}
	return out
}

// Read reads what [Write] has written.
func Read(data string) (*Net, error) {
	_, rest, ok := strings.Cut(data, "\n\n")
	if !ok || len(rest) < 8 {
		return nil, errors.New("net: no empty line ends its comment: make the file again with fitharmony")
	}
	r := reader{data: []byte(rest)}
	got := [4]int{r.short(), r.short(), r.short(), r.short()}
	hidden := got[2]
	if want := [4]int{version, Inputs, hidden, Outputs}; got != want || hidden == 0 {
		return nil, fmt.Errorf("net: version, inputs, hidden and outputs are %v, not %v: make the file again with fitharmony", got, want)
	}
	if want := Inputs*(hidden+4) + hidden + 4 + Outputs*(hidden+4) + Outputs + 4; len(r.data) != want {
		return nil, fmt.Errorf("net: %d bytes of weights, not %d: make the file again with fitharmony", len(r.data), want)
	}
	n := NewNet(hidden)
	for i := range Inputs {
		r.row(n.In[i*hidden:][:hidden])
	}
	r.row(n.Bias)
	for k := range Outputs {
		r.row(n.Out[k*hidden:][:hidden])
	}
	r.row(n.Prior)
	return n, nil
}

type reader struct{ data []byte }

func (r *reader) short() int {
	v := binary.LittleEndian.Uint16(r.data)
	r.data = r.data[2:]
	return int(v)
}

func (r *reader) row(out []float32) {
	scale := math.Float32frombits(binary.LittleEndian.Uint32(r.data))
	r.data = r.data[4:]
	for i := range out {
		out[i] = scale * float32(int8(r.data[i]))
	}
	r.data = r.data[len(out):]
}
