package voicing

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// Style is the texture: the voices with their ranges, how far apart they may
// stand, and what counts for and against a move.
type Style struct {
	Name string
	// Voices are from the top down.
	Voices []VoiceRange
	// MaxSpan is the widest interval in semitones between the top voice and the
	// one above the bass (a hand's reach), 0 for no limit.
	MaxSpan int
	// LowBelow is the pitch below which thirds and seconds between the lowest two
	// voices sound thick.
	LowBelow theory.Pitch
	// Repertoire is the music whose habits an elaboration follows.
	Repertoire Repertoire
	// Rules is the law: what it calls a fault is forbidden, where it advises caution a
	// voicing costs more, and what it is silent about is free. Nil is the default rule set. The
	// ranges are those of Voices, and of the set where it names its own.
	Rules *partwriting.RuleSet
	law   *law
	// lifted takes every rule away but that voices do not cross and chords are
	// complete, and lets any note be the lowest: only the size of motion counts.
	lifted bool
	// work is the budget of a search that runs, nil for none.
	work    *theory.Work
	Weights Weights
}

// VoiceRange is one voice's name and the notes it may sing.
type VoiceRange struct {
	Name      string
	Low, High theory.Pitch
	// EasyLow and EasyHigh bound the comfortable middle.
	EasyLow, EasyHigh theory.Pitch
}

func voice(name, low, easyLow, easyHigh, high string) VoiceRange {
	return VoiceRange{name, theory.MustPitch(low), theory.MustPitch(high), theory.MustPitch(easyLow), theory.MustPitch(easyHigh)}
}

// thickBelow is where close spacing becomes thick (common practice, no source for
// the exact note; Hutchinson and Butterfield argue from the overtone series).
var thickBelow = theory.MustPitch("C3")

// Chorale returns four singable lines. Ranges are those of Butterfield,
// Integrated Music Theory, unit 10a; the comfortable middle is the middle 90 %
// of sounding time counted in the 370 chorales edited by C. Sapp.
func Chorale() Style {
	return Style{
		Name: "chorale",
		Voices: []VoiceRange{
			voice("S", "C4", "E4", "E5", "G5"),
			voice("A", "G3", "B3", "Bb4", "D5"),
			voice("T", "C3", "F#3", "F4", "G4"),
			voice("B", "E2", "G2", "Bb3", "D4"),
		},
		LowBelow: thickBelow, Weights: defaultWeights(),
	}
}

// Keyboard returns three upper voices within a hand and a bass (Open Music
// Theory v1, keyboard-style voice leading).
func Keyboard() Style {
	w := defaultWeights()
	// A hand goes the shortest way and stays where it can (Open Music Theory v1).
	w.PositionChange, w.CommonToneLost, w.StandsStill = 200, 150, 0
	return Style{
		Name: "keyboard",
		Voices: []VoiceRange{
			voice("S", "C4", "F4", "F5", "A5"),
			voice("A", "A3", "C4", "C5", "F5"),
			voice("T", "F3", "A3", "A4", "C5"),
			voice("B", "C2", "G2", "C4", "E4"),
		},
		MaxSpan: 12, LowBelow: thickBelow, Repertoire: KeyboardMusic, Rules: partwriting.RuleSetByName("keyboard"), Weights: w,
	}
}

// ThreeVoices returns soprano, alto and bass.
func ThreeVoices() Style {
	c := Chorale()
	return Style{Name: "three voices", Voices: []VoiceRange{c.Voices[0], c.Voices[1], c.Voices[3]},
		LowBelow: thickBelow, Weights: c.Weights}
}

// FiveVoices returns two sopranos, alto, tenor and bass.
func FiveVoices() Style {
	c := Chorale()
	second := voice("S2", "A3", "C4", "C5", "E5")
	first := c.Voices[0]
	first.Name = "S1"
	return Style{Name: "five voices", Voices: []VoiceRange{first, second, c.Voices[1], c.Voices[2], c.Voices[3]},
		LowBelow: thickBelow, Weights: c.Weights}
}

// Weights are the costs of what is allowed but not free, in hundredths.
type Weights struct {
	// Semitone is for each semitone an upper voice moves, BassSemitone for the
	// bass: the law of the shortest way (Open Music Theory v1).
	Semitone, BassSemitone Cost
	// CommonToneLost is for an upper voice that leaves a note the next chord has.
	CommonToneLost Cost
	// Leap is for each semitone beyond a major third in an upper voice,
	// AwkwardLeap for a diminished interval in any voice.
	Leap, AwkwardLeap Cost
	// SimilarToBass is for each upper voice that moves with the bass, AllSame
	// for all voices in one direction.
	SimilarToBass, AllSame Cost
	// Overlap is for a voice moving past its neighbor's last note.
	Overlap Cost
	// DirectInner is for a perfect interval reached by similar motion where an
	// inner voice takes part, UnequalFifths for d5 to P5 above the bass line.
	DirectInner, UnequalFifths Cost
	// Doubling is for a doubling other than the usual, OmittedFifth for a chord
	// without its fifth, UnisonPair for neighbors on one pitch.
	Doubling, OmittedFifth, UnisonPair Cost
	// LowThird is for a third or second between the lowest two voices where the
	// lower one is below [Style.LowBelow].
	LowThird Cost
	// Uneasy is for each semitone outside the comfortable middle.
	Uneasy Cost
	// PositionChange is for going from close to open position or back.
	PositionChange Cost
	// OtherPosition is for a chord that stands in another position than [Problem.Position]
	// asks for.
	OtherPosition Cost
	// InnerLeadingTone is for a leading tone in an inner voice that falls to the
	// fifth instead of rising.
	InnerLeadingTone Cost
	// RisingSeventh is for a seventh that rises in tenths with the bass.
	RisingSeventh Cost
	// Caution is for each rule of the law that asks for care and whose matter has no
	// charge of its own.
	Caution Cost
	// SopranoStays is for a top voice that repeats its note, SopranoTurns for
	// one that turns back after a step, LeapLeft for a leap that goes on in its
	// own direction.
	SopranoStays, SopranoTurns, LeapLeft Cost
	// Arch is for each semitone that the top voice stands above or below the arch
	// of its phrase, which has its climax about two thirds through.
	Arch Cost
	// ImperfectClose is for a phrase that ends with V-I, both in root position, and
	// another note than the tonic in the top voice.
	ImperfectClose Cost
	// SeventhLeap is for a leap of a seventh in any voice, where it is allowed.
	SeventhLeap Cost
	// SeamConsecutive is for two voices that go from one phrase to the next in perfect
	// fifths, octaves or unisons.
	SeamConsecutive Cost
	// StandsStill is for each change to another root in which an upper voice keeps a note
	// that more than four chords in a row have, so that it may stand still on it.
	StandsStill Cost
	// Spread is for each semitone that the lowest two voices stand more than a
	// twelfth apart.
	Spread Cost
}

// defaultWeights returns the weights this package was tuned with by ear and by
// the order of arguments teachers give (common tone, size, against the bass,
// tendency, completeness, soprano). Common practice, no source for the numbers.
func defaultWeights() Weights {
	return Weights{
		Semitone: 100, BassSemitone: 15,
		CommonToneLost: 50,
		Leap:           60, AwkwardLeap: 200,
		SimilarToBass: 40, AllSame: 300,
		Overlap:     400,
		DirectInner: 40, UnequalFifths: 250,
		Doubling: 200, OmittedFifth: 300, UnisonPair: 250,
		LowThird: 150, Uneasy: 80, PositionChange: 50, OtherPosition: 800, InnerLeadingTone: 250, RisingSeventh: 150, Caution: 300,
		SopranoStays: 200, SopranoTurns: 200, LeapLeft: 250,
		Arch: 10, Spread: 20, ImperfectClose: 500, SeventhLeap: 400, SeamConsecutive: 2000, StandsStill: 600,
	}
}
