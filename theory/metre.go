package theory

import "strconv"

// TimeSignature is a metre. The zero value is no metre at all (senza misura).
type TimeSignature struct {
	// Beats and BeatType are the printed numbers; an additive or composite
	// metre is brought to its smallest unit (2/4+3/8 has 7 and 8).
	Beats, BeatType int32
	// Groups are the addends of an additive metre in units of BeatType, 0 at the
	// end; all 0 for an ordinary one.
	Groups [8]uint8
}

// IsSenzaMisura reports whether there is no metre.
func (t TimeSignature) IsSenzaMisura() bool { return t.Beats <= 0 || t.BeatType <= 0 }

// Measure returns the length of a full measure in quarter notes, 0 without metre.
func (t TimeSignature) Measure() Fraction {
	if t.IsSenzaMisura() {
		return Fraction{}
	}
	return reduce(4*int64(t.Beats), int64(t.BeatType))
}

// IsCompound reports whether the beat divides in three: the upper number is 6,
// 9, 12 and so on, as in 6/8, 9/8 or 6/4, but not 3. Common practice, no source.
func (t TimeSignature) IsCompound() bool {
	return t.Groups[0] == 0 && t.Beats > 3 && t.Beats%3 == 0
}

// Beat returns the length of one beat in quarter notes: the dotted unit in
// compound metre, the lower number's note otherwise, a quarter without metre.
func (t TimeSignature) Beat() Fraction {
	switch {
	case t.IsSenzaMisura():
		return Whole(1)
	case t.IsCompound():
		return reduce(12, int64(t.BeatType))
	}
	return reduce(4, int64(t.BeatType))
}

// BeatAt returns the place of an offset (quarter notes from the measure's start)
// counted in beats from 1: offset 3/2 in 4/4 is beat 5/2.
func (t TimeSignature) BeatAt(offset Fraction) Fraction {
	return offset.Div(t.Beat()).Add(Whole(1))
}

// IntoBeat returns how far an offset lies behind the beat that it belongs to: 1/4 for offset 5/4
// in 4/4.
func (t TimeSignature) IntoBeat(offset Fraction) Fraction {
	beats := offset.Div(t.Beat())
	return offset.Sub(t.Beat().Mul(Whole(beats.Num() / beats.Den())))
}

// Strength returns how strong the place at an offset is by the metre alone: 3
// for the first beat, 2 for the middle of a measure that halves (4/4, 12/8) and
// for the heads of additive groups, 1 for the other beats, 0 for anything off
// the beat. Common practice, no source.
func (t TimeSignature) Strength(offset Fraction) int {
	if offset.Sign() == 0 {
		return 3
	}
	at := offset.Div(t.Beat())
	if at.Den() != 1 {
		return 0
	}
	if t.Groups[0] != 0 {
		var head int64
		for _, g := range t.Groups {
			head += int64(g)
			if g != 0 && at.Num() == head {
				return 2
			}
		}
		return 1
	}
	beats := t.Measure().Div(t.Beat())
	if beats.Den() == 1 && beats.Num()%2 == 0 && beats.Num() > 2 && at.Num()*2 == beats.Num() {
		return 2
	}
	return 1
}

// String returns "3/4", "2+3/8" or "senza misura".
func (t TimeSignature) String() string {
	if t.IsSenzaMisura() {
		return "senza misura"
	}
	top := strconv.Itoa(int(t.Beats))
	if t.Groups[0] != 0 {
		top = ""
		for _, g := range t.Groups {
			if g == 0 {
				break
			}
			if top != "" {
				top += "+"
			}
			top += strconv.Itoa(int(g))
		}
	}
	return top + "/" + strconv.Itoa(int(t.BeatType))
}

// TimeChange is a metre taking effect.
type TimeChange struct {
	Onset Fraction
	// Part is the index in [Score.Parts]; Staff is 0 when all its staves change.
	Part, Staff int
	Time        TimeSignature
}
