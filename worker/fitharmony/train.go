package main

import (
	"math"
	"math/rand/v2"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
)

// beatExample is one beat with what musicians hear there.
type beatExample struct {
	inputs []beatnet.Input
	// right and other are an output of each group; they are the same where no
	// pivot stands, and -1 where the net cannot tell.
	right, other [beatnet.NumGroups]int
	weight       float32
}

// beatsOf makes examples of the beats of a labeled score.
func beatsOf(t *theory.Texture, labels *harmony.RomanText, weight float32) []beatExample {
	music, onsets := harmony.Heard(t)
	placed := labels.Place(t)
	var out []beatExample
	at := -1
	for b, onset := range onsets {
		for at+1 < len(placed) && !onset.Less(placed[at+1].Onset) {
			at++
		}
		if at < 0 {
			continue
		}
		right, other := placed[at].Reading, placed[at].Reading
		if at > 0 && placed[at-1].Onset == placed[at].Onset {
			other = placed[at-1].Reading
		}
		begins, within := 0, 0
		if placed[at].Onset == onset {
			begins = 1
		}
		if at+1 < len(placed) && b+1 < len(onsets) && placed[at+1].Onset.Less(onsets[b+1]) {
			within = 1
		}
		e := beatExample{inputs: music.Gather(b, nil), weight: weight}
		e.right = outputs(right, music.Reference(b), begins, within)
		e.other = outputs(other, music.Reference(b), begins, within)
		out = append(out, e)
	}
	return out
}

func outputs(r harmony.Reading, reference, begins, within int) [beatnet.NumGroups]int {
	return [beatnet.NumGroups]int{output(r.Key, reference), beatnet.RootOutput(r.Root().Fifths(), reference),
		beatnet.YesOutput(beatnet.Begins) - 1 + begins, beatnet.YesOutput(beatnet.Within) - 1 + within}
}

func output(k theory.Key, signature int) int {
	return beatnet.KeyOutput(k.Tonic.Fifths(), int(k.Mode), signature)
}

// training are the settings of one net.
type training struct {
	hidden, epochs int
	rate           float32
	decay          float32
	dropIn, drop   float64
	seed           uint64
}

// choraleTraining and freeTraining are the settings of the two nets. A wider net
// reads songs a little better and chorales no better.
var (
	choraleTraining = training{hidden: 48, epochs: 6, rate: 0.02, decay: 0.01, dropIn: 0.1, drop: 0.3, seed: 1}
	freeTraining    = training{hidden: 80, epochs: 7, rate: 0.02, decay: 0.01, dropIn: 0.1, drop: 0.3, seed: 1}
)

// train fits a net by stochastic gradient descent with a rate for each weight
// that falls as its gradients add up (Duchi, Hazan and Singer, JMLR 12, 2011).
func train(examples []beatExample, s training) *beatnet.Net {
	r := rand.New(rand.NewPCG(s.seed, 17))
	n := beatnet.NewNet(s.hidden)
	for i := range n.In {
		n.In[i] = float32(r.NormFloat64() * 0.15)
	}
	for i := range n.Out {
		n.Out[i] = float32(r.NormFloat64() * 0.1)
	}
	t := trainer{training: s, net: n, in: make([]float32, beatnet.Inputs), bias: make([]float32, len(n.Bias)),
		out: make([]float32, len(n.Out)), prior: make([]float32, len(n.Prior)),
		hidden: make([]float32, s.hidden), back: make([]float32, s.hidden), kept: make([]float32, s.hidden)}
	mean := newAverage(s.hidden)
	order := r.Perm(len(examples))
	for epoch := range s.epochs {
		t.now = s.rate * float32(1-0.9*float64(epoch)/float64(s.epochs))
		r.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, i := range order {
			t.step(&examples[i], r)
		}
		for i := range n.In {
			n.In[i] *= 1 - s.decay
		}
		if 2*epoch >= s.epochs {
			mean.add(n)
		}
	}
	return mean.net()
}

type trainer struct {
	training
	net                  *beatnet.Net
	in, bias, out, prior []float32 // sums of squared gradients
	hidden, back, kept   []float32
	inputs               []beatnet.Input
	logs                 [beatnet.Outputs]float32
	now                  float32
}

func (t *trainer) step(e *beatExample, r *rand.Rand) {
	n := t.net
	t.inputs = t.inputs[:0]
	for _, in := range e.inputs {
		if r.Float64() >= t.dropIn {
			t.inputs = append(t.inputs, beatnet.Input{At: in.At, Value: in.Value / float32(1-t.dropIn)})
		}
	}
	copy(t.hidden, n.Bias)
	n.Take(t.inputs, t.hidden)
	beatnet.Rectify(t.hidden)
	for h := range t.hidden {
		t.kept[h] = 0
		if r.Float64() >= t.drop {
			t.kept[h] = 1 / float32(1-t.drop)
		}
		t.hidden[h] *= t.kept[h]
		t.back[h] = 0
	}
	n.Logs(t.hidden, t.logs[:])
	for g := range beatnet.NumGroups {
		t.pull(e, int(g))
	}
	for h, v := range t.hidden {
		if v <= 0 {
			t.back[h] = 0
			continue
		}
		t.back[h] *= t.kept[h]
		t.move(&n.Bias[h], &t.bias[h], t.back[h])
	}
	// The weights from one input share a rate.
	square := float32(0)
	for _, g := range t.back {
		square += g * g
	}
	square /= float32(n.Hidden)
	for _, in := range t.inputs {
		sum := &t.in[in.At]
		*sum += square * in.Value * in.Value
		rate := t.now * in.Value / (float32(math.Sqrt(float64(*sum))) + 1e-6)
		row := n.In[int(in.At)*n.Hidden:][:len(t.back)]
		for h, g := range t.back {
			row[h] -= rate * g
		}
	}
}

// pull takes the gradients of one group of outputs back to the hidden layer.
func (t *trainer) pull(e *beatExample, group int) {
	if e.right[group] < 0 || e.other[group] < 0 {
		return
	}
	n := t.net
	first, end := beatnet.Group(group).Bounds()
	for k := first; k < end; k++ {
		g := float32(math.Exp(float64(t.logs[k])))
		if k == e.right[group] {
			g -= 0.5
		}
		if k == e.other[group] {
			g -= 0.5
		}
		g *= e.weight * groupWeight[group]
		if g < 1e-4 && g > -1e-4 {
			continue
		}
		row, sums := n.Out[k*n.Hidden:][:n.Hidden], t.out[k*n.Hidden:][:n.Hidden]
		for h, v := range t.hidden {
			t.back[h] += g * row[h]
			t.move(&row[h], &sums[h], g*v)
		}
		t.move(&n.Prior[k], &t.prior[k], g)
	}
}

// groupWeight is how much each group of outputs counts in training.
var groupWeight = [beatnet.NumGroups]float32{1, 0.5, 0.5, 0.5}

func (t *trainer) move(w, sum *float32, g float32) {
	if g == 0 {
		return
	}
	*sum += g * g
	*w -= t.now * g / (float32(math.Sqrt(float64(*sum))) + 1e-6)
}

// average is the mean of nets, which errs less than each of them (Izmailov and
// others, "Averaging Weights Leads to Wider Optima and Better Generalization", UAI
// 2018).
type average struct {
	sum *beatnet.Net
	n   float32
}

func newAverage(hidden int) *average { return &average{sum: beatnet.NewNet(hidden)} }

func (a *average) add(n *beatnet.Net) {
	a.n++
	from, to := layers(n), layers(a.sum)
	for l := range from {
		for i, v := range from[l] {
			to[l][i] += v
		}
	}
}

func (a *average) net() *beatnet.Net {
	for _, layer := range layers(a.sum) {
		for i := range layer {
			layer[i] /= a.n
		}
	}
	return a.sum
}

func layers(n *beatnet.Net) [4][]float32 { return [4][]float32{n.In, n.Bias, n.Out, n.Prior} }
