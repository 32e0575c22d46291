package harmony

// Weights are the numbers of the model, in units of log probability: what
// speaks against a reading. They are exported for the fitting program only.
type Weights struct {
	// Weak and Strong are the cost of a foreign note of each figure off and on
	// the beat, for a duration of half a beat; Held that of one that sounds on
	// from before.
	Weak, Strong, Held [numFigures]float32
	// Missing is what it costs that a member of the chord does not sound: root,
	// third, fifth, seventh, for triads and for sevenths.
	Missing [2][4]float32
	// MissingDim adds to a missing fifth of a diminished chord.
	MissingDim float32
	// LateSeventh is for a seventh that is not there from the start, LateRoot
	// for a root that is not.
	LateSeventh, LateRoot, LateThird float32
	// BassMoves is for each beat of a bass on another member, BassForeign for a
	// first bass foreign to the chord.
	BassMoves, BassForeign float32
	// Begin is the cost of beginning a harmony at a place of each metrical
	// level: off the beat, on a beat, mid-measure, downbeat.
	Begin [4]float32
	// Again is for the same chord said again, Long for each beat beyond two.
	Again float32
	// Foreign is for each beat of a note outside the scale of the key.
	Foreign float32
	// Habits, KeyHabits scale the log probabilities of succession and of keys.
	Habits, KeyHabits float32
	// Leap adds to an abrupt change of key, Pivot to a pivot.
	Leap, Pivot float32
	// Signature is for each fifth between the first key and the signature.
	Signature float32
	// FinalHabits scales the bonus of phrase ends.
	FinalHabits float32
}

// handSet are judgements by ear, from which fitting starts.
func handSet() *Weights {
	w := &Weights{
		Missing:    [2][4]float32{{3.5, 1.8, 0.5, 0}, {4, 2, 0.6, 9}},
		MissingDim: 1, LateSeventh: 1.2, LateRoot: 0.5, LateThird: 0.2,
		BassMoves: 4, BassForeign: 1,
		Begin: [4]float32{0.6, -0.6, -0.8, -1},
		Again: 1, Foreign: 0.5, Habits: 1, KeyHabits: 1, Signature: 0.7, FinalHabits: 1,
	}
	w.Weak = [numFigures]float32{figurePassing: 0.5, figureNeighbor: 0.7, figureHeldDown: 1.2, figureHeldUp: 2,
		figureRepeated: 2.5, figureAnticipation: 0.9, figureLeapStepBack: 2, figureLeapStepOn: 2, figureStepLeap: 1.7,
		figureStepEnd: 2.5, figureBegins: 2.5, figureLeaps: 4}
	w.Strong = [numFigures]float32{figurePassing: 1.4, figureNeighbor: 1.8, figureHeldDown: 1, figureHeldUp: 1.8,
		figureRepeated: 3, figureAnticipation: 3, figureLeapStepBack: 2, figureLeapStepOn: 3, figureStepLeap: 3.5,
		figureStepEnd: 3.5, figureBegins: 3, figureLeaps: 5}
	w.Held = [numFigures]float32{figurePassing: 0.8, figureNeighbor: 1, figureHeldDown: 0.7, figureHeldUp: 1.5,
		figureRepeated: 2, figureAnticipation: 1.5, figureLeapStepBack: 1, figureLeapStepOn: 1.2, figureStepLeap: 3,
		figureStepEnd: 3, figureBegins: 1, figureLeaps: 3.5}
	return w
}

// foreign returns the cost of a note that its chord does not contain. A note
// held from before weighs by its duration only.
func (w *Weights) foreign(f figure, held bool, level int8, beats float32, atOnset bool) float32 {
	switch {
	case held:
		return w.Held[f] * 2 * beats
	case level > 0 && atOnset:
		return w.Strong[f] * 1.7 * (0.2 + 1.6*beats)
	}
	return w.Weak[f] * 1.7 * (0.2 + 1.6*beats)
}
