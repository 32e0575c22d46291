package beatnet

// Pitch classes are inputs by their distance in fifths from the tonic that the
// reference signature has in major: from lowest to lowest + classes - 1. In C
// that is from F flat to B sharp; what lies outside is left out.
const (
	lowest  = -8
	classes = 21
)

// window is how many beats to either side are inputs one by one.
const window = 8

// farSignature is the greatest distance of the printed signature from the
// reference that the net is told.
const farSignature = 6

// Where the inputs begin. Those of a phrase are the same for all its beats: what
// sounds in it, at its end and at that of the one before, in the piece and at its
// end. Those of a beat are what sounds and lies lowest in each beat of the window,
// sums that fade to either side, what the beat begins and ends with and its
// neighbors touch it with, where it stands, and the printed signature.
const (
	windowAt    = 0
	fadingAt    = windowAt + (2*window+1)*2*classes
	phraseAt    = fadingAt + 2*len(fading)*classes
	endAt       = phraseAt + classes
	beforeAt    = endAt + 2*classes
	wholeAt     = beforeAt + 2*classes
	lastAt      = wholeAt + classes
	placeAt     = lastAt + 2*classes
	signatureAt = placeAt + 6
	edgesAt     = signatureAt + 2*farSignature + 1
	// Inputs is how many inputs there are.
	Inputs = edgesAt + 4*2*classes
)

// Input is one input that is not zero.
type Input struct {
	At    int32
	Value float32
}

// Gather appends the inputs of a beat to out.
func (m *Music) Gather(i int, out []Input) []Input {
	b := &m.beats[i]
	return m.gatherBeat(i, m.gatherPhrase(int(b.phrase), b.reference, out))
}

// gather collects inputs relative to one signature.
type gather struct {
	out  []Input
	base int // bit of the first class
}

func newGather(reference int8, out []Input) gather {
	return gather{out, COffset + int(reference) + lowest}
}

func (g *gather) parts(at int, parts []part) {
	for _, p := range parts {
		if c := int(p.bit) - g.base; c >= 0 && c < classes {
			g.out = append(g.out, Input{int32(at + c), p.share})
		}
	}
}

// least is the smallest share that is told.
const least = 0.004

// sums gathers numbers by bit, the first of which is that of bit low.
func (g *gather) sums(at, low int, s []float32) {
	for c := range classes {
		if i := g.base + c - low; i >= 0 && i < len(s) && s[i] > least {
			g.out = append(g.out, Input{int32(at + c), s[i]})
		}
	}
}

func (g *gather) edge(at int, e *edge) {
	for c := range classes {
		if bit := g.base + c; bit >= 0 && bit < 64 && e.sounding>>uint(bit)&1 == 1 {
			g.out = append(g.out, Input{int32(at + c), 1})
		}
	}
	if c := int(e.bass) - g.base; e.bass >= 0 && c >= 0 && c < classes {
		g.out = append(g.out, Input{int32(at + classes + c), 1})
	}
}

func (g *gather) beat(at int, b *beat) {
	g.parts(at, b.sounding)
	g.parts(at+classes, b.bass)
}

func (m *Music) gatherPhrase(phrase int, reference int8, out []Input) []Input {
	g := newGather(reference, out)
	p := &m.phrases[phrase]
	g.sums(phraseAt, 0, p.mean[:])
	g.beat(endAt, &m.beats[p.end-1])
	if p.first > 0 {
		g.beat(beforeAt, &m.beats[p.first-1])
	}
	g.sums(wholeAt, 0, m.whole[:])
	g.beat(lastAt, &m.beats[len(m.beats)-1])
	return g.out
}

func (m *Music) gatherBeat(i int, out []Input) []Input {
	b := &m.beats[i]
	g := newGather(b.reference, out)
	for j := max(0, i-window); j <= min(len(m.beats)-1, i+window); j++ {
		g.beat(windowAt+(j-i+window)*2*classes, &m.beats[j])
	}
	for k := range fading {
		g.sums(fadingAt+2*k*classes, m.low, m.past(i, k))
		g.sums(fadingAt+(2*k+1)*classes, m.low, m.future(i, k))
	}
	g.edge(edgesAt, &b.head)
	g.edge(edgesAt+2*classes, &b.tail)
	if i > 0 {
		g.edge(edgesAt+4*classes, &m.beats[i-1].tail)
	}
	if i+1 < len(m.beats) {
		g.edge(edgesAt+6*classes, &m.beats[i+1].head)
	}
	g.flag(placeAt+int(b.level), true)
	g.flag(placeAt+4, b.ends)
	g.flag(placeAt+5, b.opens)
	off := int(b.signature) - int(b.reference)
	g.flag(signatureAt+farSignature+off, off >= -farSignature && off <= farSignature)
	return g.out
}

func (g *gather) flag(at int, set bool) {
	if set {
		g.out = append(g.out, Input{int32(at), 1})
	}
}
