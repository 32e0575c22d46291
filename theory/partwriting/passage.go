package partwriting

import "partwright/theory"

// Passage is the read-only view that rules look at, computed once for all.
type Passage struct {
	*theory.Texture
	// Set gives thresholds and severities.
	Set *RuleSet
	// Moves holds, for each pair of consecutive moments and each voice, how the
	// voice gets from one to the other.
	moves []Move
}

// Move is how one voice goes from moment m to moment m+1.
type Move struct {
	// From and To index the voice's notes, -1 for silence.
	From, To int32
	// Interval is [theory.Unison] where the pitch stays.
	Interval theory.Interval
}

// Moves reports whether the voice sounds at both moments and changes its pitch.
func (m Move) Moves() bool { return m.From >= 0 && m.To >= 0 && m.Interval != theory.Unison }

// NewPassage prepares a texture for checking.
func NewPassage(t *theory.Texture, set *RuleSet) *Passage {
	p := &Passage{Texture: t, Set: set}
	n := len(t.Voices)
	if len(t.Moments) == 0 {
		return p
	}
	p.moves = make([]Move, (len(t.Moments)-1)*n)
	for m := 0; m+1 < len(t.Moments); m++ {
		for v := 0; v < n; v++ {
			move := Move{From: int32(t.At(m, v)), To: int32(t.At(m+1, v))}
			if move.From >= 0 && move.To >= 0 && move.From != move.To {
				notes := t.Voices[v].Notes
				move.Interval = theory.Between(notes[move.From].Pitch, notes[move.To].Pitch)
			}
			p.moves[m*n+v] = move
		}
	}
	return p
}

// Move returns how voice v goes from moment m to moment m+1.
func (p *Passage) Move(m, v int) Move { return p.moves[m*len(p.Voices)+v] }
