package beatnet

import "math"

// Keys are outputs by the distance of their tonic in fifths from the tonic that
// the reference signature has in major: major keys first, then minor ones.
const (
	lowestKey = -9
	tonics    = 22
)

// Where the groups of outputs begin; of each group one output is true.
const (
	keysAt   = 0
	rootsAt  = keysAt + 2*tonics
	beginsAt = rootsAt + classes
	withinAt = beginsAt + 2
	// Outputs is how many outputs there are.
	Outputs = withinAt + 2
)

// Group is a group of outputs.
type Group int

// Groups: the key, the root, whether a harmony begins on the beat, and whether
// one begins between it and the next.
const (
	Key Group = iota
	Root
	Begins
	Within
	NumGroups
)

var bounds = [NumGroups + 1]int{keysAt, rootsAt, beginsAt, withinAt, Outputs}

// Bounds returns the first output of a group and the one after its last.
func (g Group) Bounds() (first, end int) { return bounds[g], bounds[g+1] }

// KeyOutput returns the output of a key by its tonic in fifths above C, its mode
// (0 major, 1 minor) and the reference; -1 for one that lies too far away.
func KeyOutput(tonic, mode, reference int) int {
	t := tonic - reference - lowestKey
	if t < 0 || t >= tonics {
		return -1
	}
	return keysAt + mode*tonics + t
}

// RootOutput returns the output of a root by its fifths above C, -1 for one that
// lies too far away.
func RootOutput(root, reference int) int {
	c := root - reference - lowest
	if c < 0 || c >= classes {
		return -1
	}
	return rootsAt + c
}

// YesOutput returns the output of Begins or Within that says yes; the one before
// it says no.
func YesOutput(g Group) int { return bounds[g] + 1 }

// Net is one hidden layer between inputs and outputs.
type Net struct {
	Hidden int
	// In[i*Hidden:][:Hidden] are the weights from input i, Out[k*Hidden:] those to
	// output k; Bias and Prior are added.
	In, Bias   []float32
	Out, Prior []float32
}

// NewNet returns a net whose weights are all zero.
func NewNet(hidden int) *Net {
	return &Net{hidden, make([]float32, Inputs*hidden), make([]float32, hidden),
		make([]float32, Outputs*hidden), make([]float32, Outputs)}
}

// Take adds inputs to the sums of the hidden layer.
func (n *Net) Take(inputs []Input, hidden []float32) {
	// Six rows at once: the sums are then read and written a sixth as often.
	for ; len(inputs) >= 6; inputs = inputs[6:] {
		a, b, c := n.row(inputs[0], len(hidden)), n.row(inputs[1], len(hidden)), n.row(inputs[2], len(hidden))
		d, e, f := n.row(inputs[3], len(hidden)), n.row(inputs[4], len(hidden)), n.row(inputs[5], len(hidden))
		va, vb, vc := inputs[0].Value, inputs[1].Value, inputs[2].Value
		vd, ve, vf := inputs[3].Value, inputs[4].Value, inputs[5].Value
		for h := range hidden {
			hidden[h] = hidden[h] + va*a[h] + vb*b[h] + vc*c[h] + vd*d[h] + ve*e[h] + vf*f[h]
		}
	}
	for ; len(inputs) >= 4; inputs = inputs[4:] {
		a, b := n.row(inputs[0], len(hidden)), n.row(inputs[1], len(hidden))
		c, d := n.row(inputs[2], len(hidden)), n.row(inputs[3], len(hidden))
		va, vb, vc, vd := inputs[0].Value, inputs[1].Value, inputs[2].Value, inputs[3].Value
		for h := range hidden {
			hidden[h] = hidden[h] + va*a[h] + vb*b[h] + vc*c[h] + vd*d[h]
		}
	}
	for _, in := range inputs {
		for h, w := range n.row(in, len(hidden)) {
			hidden[h] += in.Value * w
		}
	}
}

// row is the weights from an input.
func (n *Net) row(in Input, hidden int) []float32 { return n.In[int(in.At)*n.Hidden:][:hidden] }

// Rectify turns sums below zero to zero.
func Rectify(hidden []float32) {
	for h, v := range hidden {
		hidden[h] = max(v, 0)
	}
}

// Logs fills out with the log probability of each output within its group. It may be
// shorter than all outputs: groups that do not fit in are left out.
func (n *Net) Logs(hidden, out []float32) {
	for k := range out {
		out[k] = n.Prior[k] + product(hidden, n.Out[k*n.Hidden:][:len(hidden)])
	}
	for g := range NumGroups {
		if first, end := g.Bounds(); end <= len(out) {
			normalize(out[first:end])
		}
	}
}

// product is that of two rows of one length, in four sums that do not wait for one
// another.
func product(a, b []float32) float32 {
	var s0, s1, s2, s3 float32
	for ; len(a) >= 4 && len(b) >= 4; a, b = a[4:], b[4:] {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
	}
	for i := range min(len(a), len(b)) {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + (s2 + s3)
}

func normalize(out []float32) {
	top := out[0]
	for _, v := range out {
		top = max(top, v)
	}
	total := 0.0
	for _, v := range out {
		// What is this far behind adds nothing that a float32 shows.
		if v > top-16 {
			total += math.Exp(float64(v - top))
		}
	}
	log := top + float32(math.Log(total))
	for k := range out {
		out[k] -= log
	}
}

// bytesABeat is what the music of a beat keeps, about.
const bytesABeat = 400

// Hear returns the log probabilities for each beat, of the groups up to and with last.
func (n *Net) Hear(m *Music, last Group) [][Outputs]float32 {
	m.Work.Hold(len(m.beats) * (4*Outputs + bytesABeat))
	out := make([][Outputs]float32, len(m.beats))
	n.HearSome(m, 0, len(m.beats), last, out)
	return out
}

// HearSome fills in the log probabilities of the beats from first up to end, of the
// groups up to and with last; out has an entry for each beat of the music.
func (n *Net) HearSome(m *Music, first, end int, last Group, out [][Outputs]float32) {
	_, outputs := last.Bounds()
	base, hidden := make([]float32, n.Hidden), make([]float32, n.Hidden)
	inputs := make([]Input, 0, 256)
	phrase, reference := int32(-1), int8(0)
	for i := first; i < end; i++ {
		m.Work.Step(n.Hidden)
		if b := &m.beats[i]; b.phrase != phrase || b.reference != reference {
			phrase, reference = b.phrase, b.reference
			copy(base, n.Bias)
			inputs = m.gatherPhrase(int(phrase), reference, inputs[:0])
			n.Take(inputs, base)
		}
		copy(hidden, base)
		inputs = m.gatherBeat(i, inputs[:0])
		n.Take(inputs, hidden)
		Rectify(hidden)
		n.Logs(hidden, out[i][:outputs])
	}
}
