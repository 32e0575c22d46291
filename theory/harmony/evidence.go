package harmony

import (
	"partwright/theory"
	"partwright/theory/harmony/beatnet"
)

// evidence is what a net hears in a piece, nil where no net is asked.
type evidence struct {
	music *beatnet.Music
	logs  [][beatnet.Outputs]float32
}

// How little is believed to be possible, in log probability: a net that is sure
// and wrong must not rule anything out. Our own choice; nothing hangs on it.
const (
	keyFloor  = -7
	rootFloor = -5
)

// hear turns frames into what a net hears.
func (p *piece) hear() *beatnet.Music { return beatnet.NewMusic(p.heard()) }

func (p *piece) heard() []beatnet.Frame {
	frames := make([]beatnet.Frame, len(p.frames))
	for i := range p.frames {
		f := &p.frames[i]
		time, offset := p.place(int(f.moment))
		measure := &p.texture.Score.Measures[p.texture.Moments[f.moment].Measure]
		frames[i] = beatnet.Frame{Sounding: f.sounding, Bass: f.bass, Beats: f.beats, Level: f.level,
			OnBeat: offset.Div(time.Beat()).Den() == 1, PhraseEnd: f.phraseEnd, Signature: measure.Key.Fifths}
	}
	return frames
}

// Heard returns a texture as a net hears it, with the onset of each beat: what
// nets are trained on.
func Heard(t *theory.Texture) (*beatnet.Music, []theory.Fraction) {
	if len(t.Moments) == 0 || len(t.Score.Measures) == 0 {
		return beatnet.NewMusic(nil), nil
	}
	p := newPiece(t, findPhrases(t), &weights{}, nil)
	m := p.hear()
	onsets := make([]theory.Fraction, m.Beats())
	for i := range onsets {
		onsets[i] = p.frames[m.FirstFrame(i)].onset
	}
	return m, onsets
}

func (p *piece) listen(net *beatnet.Net) {
	if net != nil {
		m := p.hear()
		m.Work = p.texture.Score.Work
		p.evidence = &evidence{m, net.Hear(m, p.weights.heeded())}
		m.LetGo()
	}
}

// heeded is the last group of the net's outputs that counts for anything.
func (w *weights) heeded() beatnet.Group {
	switch {
	case w.withinNet != 0:
		return beatnet.Within
	case w.beginNet != 0:
		return beatnet.Begins
	case w.rootNet != 0:
		return beatnet.Root
	}
	return beatnet.Key
}

// log is the log probability of an output at a beat, no less than a floor; an
// output below zero is none.
func (e *evidence) log(beat, output int, floor float32) float32 {
	if output < 0 {
		return floor
	}
	return max(floor, e.logs[beat][output])
}

// letGo frees what has been asked for all there is to ask.
func (e *evidence) letGo() {
	if e != nil {
		e.logs = nil
	}
}

// trustedAfter is the number of beats of which half is needed for the net to be
// trusted: what it knows of keys comes from whole pieces, and in a short example it
// hears no more than the tables do.
const trustedAfter = 16

// trust is the share of its weight that the net has in a piece.
func (e *evidence) trust() float32 {
	beats := float32(e.music.Beats())
	return beats / (beats + trustedAfter)
}

// brevity is the share of its weight that the net lacks in a piece, 0 without a net.
func (p *piece) brevity() float64 {
	if p.evidence == nil {
		return 0
	}
	return min(1-float64(p.evidence.trust()), float64(p.weights.certainBriefest))
}

// Brevity says how short a piece is, as its confidences see it: 0.5 for 16 beats, near 0
// for long ones, and never more than the weight "certain briefest".
func (a *Analysis) Brevity() float64 { return a.doubts.brevity }

// phrasing says how many phrases are told in eight quarter notes of a piece, 0 without a
// net. Eight more count, so that a piece of a few notes does not seem full of phrases.
func (p *piece) phrasing() float64 {
	if p.evidence == nil {
		return 0
	}
	const span = 8
	return span * float64(p.evidence.music.Phrases()) / (p.texture.Score.End().Float() + span)
}

// Phrasing says how many phrases are told in eight quarter notes, as the confidences of
// a piece see it: about 1 where the score marks their ends, near 0 where one phrase is the whole.
func (a *Analysis) Phrasing() float64 { return a.doubts.phrasing }

// weighKeys fills cost with what the net has against each key at a beat.
func (e *evidence) weighKeys(beat int, keys []theory.Key, weight float32, cost []float32) {
	reference := e.music.Reference(beat)
	weight *= e.trust()
	for k, key := range keys {
		cost[k] = -weight * e.log(beat, beatnet.KeyOutput(key.Tonic.Fifths(), int(key.Mode), reference), keyFloor)
	}
}

// weighRoots adds to the cost of each chord in a frame what the net has against
// its root.
func (p *piece) weighRoots(f int, chords []chord, out []float32) {
	e, weight := p.evidence, p.weights.rootNet*p.frames[f].beats
	if e == nil || weight == 0 {
		return
	}
	beat := e.music.BeatOf(f + p.first)
	var cost [64]float32
	for bit := range cost {
		cost[bit] = -weight * e.log(beat, beatnet.RootOutput(bit-bitOffset, e.music.Reference(beat)), rootFloor)
	}
	for c := range chords {
		out[c] += cost[chords[c].root]
	}
}

// weighBegin is what the net has against a harmony that begins at a frame.
func (p *piece) weighBegin(f int) float32 {
	e := p.evidence
	if e == nil {
		return 0
	}
	beat := e.music.BeatOf(f + p.first)
	group, weight := beatnet.Within, p.weights.withinNet
	if e.music.FirstFrame(beat) == f+p.first {
		group, weight = beatnet.Begins, p.weights.beginNet
	}
	if weight == 0 {
		return 0
	}
	yes := beatnet.YesOutput(group)
	return weight * (e.logs[beat][yes-1] - e.logs[beat][yes])
}
