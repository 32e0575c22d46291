package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// What teachers mend in a choice of chords makes a way less likely to count, in natural
// logarithms for each time. The likeliest way has it more often than people have: it takes the
// most frequent chord wherever the melody leaves it open. Sizes are common practice, no source,
// but for the lifts.
const (
	// struck is for what is struck out: a seventh that is not resolved, a succession that
	// people do not write, parallels with the given line, a doubled tendency note.
	struck = 6.5
	// acrossSeam is for parallels with the given line from one phrase to the next, which no
	// arrangement of the voices takes away.
	acrossSeam = 6.5
	// oscillates is for a chord that returns after one other, swings for a pair of roots
	// that comes twice in a row, and for tonic and dominant by turns whichever chords stand
	// for them: charged so that as many are left as people write.
	oscillates, swings = 1.0, 1.5
	// goesBack is for a change against the functions ([FunctionalSyntax]), for a dominant
	// before the six-four that is to delay it, for a six-four on the tonic's notes that goes to no
	// dominant and for a supertonic that goes to the dominant of IV; goesSlack for a change that
	// functions hardly have and for IV6 before the tonic; IV6 between dominants goes slack only.
	goesBack, goesSlack = 2.5, 0.5
	// goesBack is also for the minor dominant that goes to the tonic or follows a predominant.
	// fallsBack is for a dominant before a predominant other than IV6, which a checker marks, and
	// for the raised subdominant of minor that does not lead up to a dominant.
	fallsBack = 4.0
	// stopgap is for IV6 after a dominant that goes on to none.
	stopgap = 6.0
	// early is for an applied dominant as one of the first two chords of a phrase, whose key is not
	// heard yet.
	early = 1.0
	// staysOn is for a chord that stays while the melody moves on, restsOn for the tonic that
	// stays before the end of a phrase, lingers for each third tonic in a row.
	staysOn = 1.0
	restsOn = 0.8
	lingers = 0.9
	// comesAgain is for a chord in root position that stood there three or four notes before.
	comesAgain = 0.6
	// plagal is for the subdominant between tonics or between the minor dominant, which leads
	// down to the dominant over it, and the tonic, takenBack for one that its dominant led to
	// and that goes to the tonic, passesOver for the submediant between tonic and dominant,
	// where a predominant is missed.
	plagal     = 1.8
	takenBack  = 2.5
	passesOver = 1.2
	// leapsDown is for IV6 after the tonic in root position or the mediant, which it does not follow
	// by step,
	// and leapsOver for the submediant before the dominant in first inversion.
	leapsDown = 1.0
	leapsOver = 0.7
	// crosses is for a note that the bass or the melody takes up chromatically changed from another
	// voice (false relation, a rule of every textbook).
	crosses = 1.0
	// outerThird is for a melody that doubles the third of a major triad in the bass.
	outerThird = 0.7
	// opensAway is for a phrase that opens with the mediant, or with the submediant in inversion.
	opensAway = 2.0
	// holdsOver is for a root that stays from a weaker onto a stronger beat, lightly for a
	// six-four before its dominant on a weaker one, leapsOff for one whose sixth or fourth the
	// melody leaves by leap.
	holdsOver, lightly = 1.5, 6.0
	leapsOff           = 1.5
	// widensFifth is for a melody that rises from the fifth of the leading tone's triad over another
	// bass than the tonic's third: the leading tone rises too, a diminished fifth to a perfect one.
	widensFifth = 2.5
	// stands is for each change to a fifth chord in a row with one note in common, which
	// leaves an inner voice on it; bassStands for a third with one bass note.
	stands, bassStands = 0.5, 0.4
	// unprepared is for the dominant of an authentic cadence that comes from the tonic,
	// halfUnprepared for that of a half cadence.
	unprepared, halfUnprepared = 3.5, 2.5
	// endsThere is for a phrase that ends on a tonic which was there before the last note.
	endsThere = 3.0
	// endsAway is for a phrase that ends on another chord than I, V, one that its own
	// dominant leads to or, where another phrase follows, vi, or that comes to I or vi from another
	// chord than cadences have (ch. 11); endsLightly for one whose last dominant before I stands in
	// inversion, endsSoftly for one that comes to I from the leading tone's chord or the subdominant.
	endsAway, endsLightly, endsSoftly = 4.5, 1.2, 2.2
	// closesEarly is for an authentic cadence at the end of a phrase that others follow,
	// closesWhole where the melody comes to the tonic too.
	closesEarly, closesWhole = 0.7, 1.5
	// cadencesBefore is for a six-four, dominant and tonic of a cadence before the end of a phrase.
	cadencesBefore = 2.0
	// staysLong is how many chords with one note in common stand.
	staysLong = 5
)

// hardlyHad is what a change costs that functions hardly have.
const hardlyHad Cost = 500

// manner is what counts about ways through one line beside how likely they are.
type manner struct {
	notes []tune.Note
	line  tune.Line
	// inner is set where another phrase follows.
	inner bool
	// counted are the successions that people write.
	counted *harmony.Successions
}

// of is how much less likely a way is to count.
func (m *manner) of(way tune.Way) float64 {
	sum := m.ending(way) + opens(way[0])
	sounds := soundsOf(way)
	for i := 1; i < len(way); i++ {
		sum -= lift(way[i])
		var past [staysLong]*sound
		for back := range min(staysLong, i+1) {
			past[back] = &sounds[i-back]
		}
		sum += m.change(i, way[i-1], way[i]) + course(&past, i >= len(way)-2)
	}
	return sum
}

// opens is what the first chord of a phrase counts.
func opens(r harmony.Reading) float64 {
	switch {
	case sixFour(r):
		return struck
	case r.Numeral.IsApplied():
		return early
	case isMediant(r) && r.Key.Mode == theory.MajorMode, functionOf(r) == onSubmediant && r.Inversion() > 0:
		return opensAway
	}
	return 0
}

// strikes is how often a way has what is struck out.
func (m *manner) strikes(way tune.Way) int {
	n := 0
	for i := 1; i < len(way); i++ {
		if m.strikesOut(i, way[i-1], way[i]) {
			n++
		}
	}
	return n
}

// change is what a change to the chord at a note counts.
func (m *manner) change(i int, from, to harmony.Reading) float64 {
	sum := reaches(from, to)
	switch {
	case m.strikesOut(i, from, to):
		sum += struck
	case from == to:
		sum += m.stays(i, to)
	default:
		sum += succession(from, to)
	}
	if i < len(m.notes) {
		sum += m.beneath(i, from, to)
	}
	return sum
}

// stays is what a chord counts that is there already at the note before.
func (m *manner) stays(i int, r harmony.Reading) (sum float64) {
	if m.moves(i) {
		sum += staysOn
	}
	if i+1 < len(m.notes) && r.Numeral.IsTonic() {
		sum += restsOn
	}
	return sum
}

// moves reports whether the line goes on to another note.
func (m *manner) moves(i int) bool {
	return i < len(m.notes) && m.notes[i].Pitch != m.notes[i-1].Pitch
}

// succession is what a change to another chord counts by the functions of both.
func succession(from, to harmony.Reading) float64 {
	switch {
	case functionOf(from) == onMinorDominant && (functionOf(to) == onSubdominant || functionOf(to) == onSubmediant):
		return 0 // the bass of minor goes down by step
	case spends(from, to):
		return goesBack
	case raisedSubdominant(from) && isDominant(to):
		return 0 // it leads up to the leading tone
	case raisedSubdominant(from) && to.Root() != to.Key.Scale()[6]:
		return fallsBack
	case isDominant(from) && isSubdominantSix(to), isSubdominantSix(from) && to.Numeral.IsTonic() && !isSixFour(to):
		return goesSlack
	case isDominant(from) && (functionOf(to) == onSubdominant || functionOf(to) == onSupertonic):
		return fallsBack
	case backwards(from, to):
		return goesBack
	case FunctionalSyntax(from, to) >= hardlyHad && from.Root() != to.Root():
		return goesSlack
	}
	return 0
}

// reaches is what an inversion counts that the bass leaps to.
func reaches(from, to harmony.Reading) float64 {
	switch {
	case (from.Numeral.IsTonic() && !isSixFour(from) || isMediant(from)) && isSubdominantSix(to):
		return leapsDown
	case functionOf(from) == onSubmediant && isDominant(to) && to.Inversion() == 1 && to.Numeral.Degree == 5:
		return leapsOver
	}
	return 0
}

// beneath is what a change counts that depends on the notes of the line and where they stand.
func (m *manner) beneath(i int, from, to harmony.Reading) float64 {
	note, before := m.notes[i], m.notes[i-1]
	melody := m.line == tune.Melody
	delays := isSixFour(from) && isDominant(to)
	sum := crosses * float64(m.crossings(i, from, to))
	if note.Strength > before.Strength {
		if from.Root() == to.Root() {
			sum += holdsOver
		}
		if delays {
			sum += lightly
		}
	}
	if i == 1 && to.Numeral.IsApplied() {
		sum += early
	}
	if melody && to.Quality() == harmony.MajorTriad && to.Inversion() == 1 && !m.doubles(i, to) && note.Pitch.Class() == to.Bass() {
		sum += outerThird
	}
	if melody && m.widens(i, from, to) {
		sum += widensFifth
	}
	if melody && delays && before.Pitch.Class() != from.Bass() && abs(note.Pitch.Diatonic()-before.Pitch.Diatonic()) > 1 {
		sum += leapsOff
	}
	return sum
}

// widens reports whether the melody rises from the fifth of a leading tone's triad, and does not go
// in tenths with the bass as where a six-three chord on the tonic follows.
func (m *manner) widens(i int, from, to harmony.Reading) bool {
	before, note := m.notes[i-1].Pitch, m.notes[i].Pitch
	return isDominant(from) && from.Quality() == harmony.DiminishedTriad && before.Class() == from.Member(2) &&
		note.Diatonic() == before.Diatonic()+1 && to.MemberOf(to.Bass()) != 1
}

// spends reports whether a change takes away what the second chord or the one after it is
// there for.
func spends(from, to harmony.Reading) bool {
	toSubdominant := to.Numeral.IsApplied() && to.Numeral.Of.Degree == 4
	return isDominant(from) && isSixFour(to) || isSixFour(from) && !isDominant(to) || functionOf(from) == onMinorDominant && to.Numeral.IsTonic() ||
		functionOf(to) == onMinorDominant && (functionOf(from) == onSupertonic || functionOf(from) == onSubdominant) ||
		!from.Numeral.IsApplied() && from.Numeral.Degree == 2 && toSubdominant
}

// strikesOut reports whether a change to the chord at a note is struck out.
func (m *manner) strikesOut(i int, from, to harmony.Reading) bool {
	return from != to && (!resolvesSeventh(from, to) || !m.written(from, to) || takesBack(from, to)) || m.leavesSeventh(i, from, to) || m.parallels(i, from, to) || m.doubles(i, to)
}

// takesBack reports whether a change over one root takes back what its first chord was for:
// the minor dominant before the dominant, the dominant of iv before the minor tonic.
func takesBack(from, to harmony.Reading) bool {
	return functionOf(from) == onMinorDominant && isDominant(to) && from.Root() == to.Root() ||
		functionOf(from) == toSubdominant && to.Numeral.IsTonic() && !isSixFour(to)
}

// resolvesSeventh reports whether a seventh can go down by step, or lie until it does, or is
// handed on within the same harmony.
func resolvesSeventh(from, to harmony.Reading) bool {
	if !from.Quality().IsSeventh() {
		return true
	}
	seventh := from.Member(3)
	down := (int(seventh.Step) + 6) % 7
	if from.Root() == to.Root() {
		return to.Quality().IsSeventh() && (from.Inversion() != 3 || to.Inversion() == 3)
	}
	resolves := false
	for m := range to.Size() {
		note := to.Member(m)
		if note == seventh {
			// It lies as a dissonance, over the dominant's bass, or in a chord of the same function.
			return to.Quality().IsSeventh() && m == 3 || isSixFour(to) || isDominant(from) && isDominant(to) || m == 0 && from.Inversion() != 3 && to.Quality().IsSeventh()
		}
		resolves = resolves || int(note.Step) == down
	}
	if from.Inversion() == 3 { // in the bass
		return int(to.Bass().Step) == down
	}
	return resolves
}

// How often people write a change so that it is not struck out: a number of times in these
// inversions, or between these roots in a share of the changes from the first, with chords that
// occur a number of times each.
const (
	sixFourTimes              = 2
	writtenTimes, timesShare  = 3, 0.03
	writtenShare, writtenEach = 0.06, 15
	// An applied dominant that goes where it leads, and the way to one.
	appliedSeen, appliedShare = 2, 0.01
)

// written reports whether people write a change. Few changes to and from each applied dominant
// are counted, so that its root decides.
func (m *manner) written(from, to harmony.Reading) bool {
	a, b := from.Numeral, to.Numeral
	switch {
	case from.Root() == to.Root() && !sixFour(to):
		return true
	case sixFour(from) || sixFour(to):
		return m.counted.Times(a, b) >= sixFourTimes
	case m.counted.Times(a, b) >= writtenTimes && m.counted.RootShare(a, b) >= timesShare:
		return true
	case a.IsApplied() && !b.IsApplied():
		return resolves(&a, &b) == 0 && m.counted.Seen(a) >= appliedSeen && m.counted.Seen(b) >= appliedSeen
	case b.IsApplied():
		return m.counted.Seen(b) >= appliedSeen && m.counted.RootShare(a, b) >= appliedShare
	}
	return m.counted.RootShare(a, b) >= writtenShare && m.counted.Seen(a) >= writtenEach && m.counted.Seen(b) >= writtenEach
}

func sixFour(r harmony.Reading) bool { return r.Inversion() == 2 && r.Size() == 3 }

// leavesSeventh reports whether a given melody leaps away from a seventh, or rises from it,
// while the harmony changes.
func (m *manner) leavesSeventh(i int, from, to harmony.Reading) bool {
	if m.line != tune.Melody || i >= len(m.notes) || from.Root() == to.Root() || !from.Quality().IsSeventh() {
		return false
	}
	moves := m.notes[i].Pitch.Diatonic() - m.notes[i-1].Pitch.Diatonic()
	return m.notes[i-1].Pitch.Class() == from.Member(3) && moves != 0 && moves != -1 && !(isDominant(from) && isDominant(to))
}

// parallels reports whether a given melody and the bass of the chords go in fifths or octaves.
func (m *manner) parallels(i int, from, to harmony.Reading) bool {
	if m.line != tune.Melody || i >= len(m.notes) {
		return false
	}
	return inParallel(m.notes[i-1].Pitch, m.notes[i].Pitch, from, to)
}

// inParallel reports whether a melody that goes from one note to another and the bass of the
// chords below go in fifths or octaves.
func inParallel(a, b theory.Pitch, from, to harmony.Reading) bool {
	if a.Class() == b.Class() || from.Bass() == to.Bass() {
		return false
	}
	fifths := a.Class().Fifths() - from.Bass().Fifths()
	return (fifths == 0 || fifths == 1) && b.Class().Fifths()-to.Bass().Fifths() == fifths
}

// crossings counts the outer voices that come to a note which another voice had a chromatic
// semitone away.
func (m *manner) crossings(i int, from, to harmony.Reading) (n int) {
	crossed := func(before, after theory.PitchClass) bool {
		if before.Step == after.Step { // it goes on in the same voice
			return false
		}
		for k := range from.Size() {
			if other := from.Member(k); other.Step == after.Step && other != after {
				return true
			}
		}
		return false
	}
	if crossed(from.Bass(), to.Bass()) {
		n++
	}
	if m.line == tune.Melody && crossed(m.notes[i-1].Pitch.Class(), m.notes[i].Pitch.Class()) {
		n++
	}
	return n
}

// doubles reports whether the melody and the bass both have the leading tone of a dominant or
// the seventh of a chord.
func (m *manner) doubles(i int, r harmony.Reading) bool {
	if m.line != tune.Melody || i >= len(m.notes) || m.notes[i].Pitch.Class() != r.Bass() {
		return false
	}
	member := r.MemberOf(r.Bass())
	leading := r.Numeral.IsDominant() && (member == 1 && r.Numeral.Degree == 5 || member == 0 && r.Numeral.Degree == 7)
	return leading || member == 3
}

// ending is what the end of a way counts.
func (m *manner) ending(way tune.Way) float64 {
	sum := 0.0
	last := way[len(way)-1]
	at := first(way, len(way)-1)
	switch {
	case !closesUnprepared(way):
	case isDominant(last):
		sum += halfUnprepared
	default:
		sum += unprepared
	}
	if k := len(way) - 1; k > 0 && last.Numeral.IsTonic() && way[k-1].Root() == last.Root() && m.moves(k) {
		sum += endsThere
	}
	before := way[max(at-1, 0)]
	if m.inner && last.Numeral.IsTonic() && isDominant(before) {
		sum += closesEarly
		if k := len(m.notes) - 1; k >= 0 && m.line == tune.Melody && m.notes[k].Pitch.Class() == last.Key.Tonic {
			sum += closesWhole
		}
	}
	for i := 0; i < at-2; i++ {
		if isSixFour(way[i]) && isDominant(way[i+1]) && way[i+2].Numeral.IsTonic() {
			sum += cadencesBefore
		}
	}
	return sum + m.closes(before, last, at > 0)
}

// closes is what the last two chords of a phrase count.
func (m *manner) closes(before, last harmony.Reading, changes bool) float64 {
	n := last.Numeral
	toTonic := isDominant(before) || before.Numeral.Degree == 4
	switch {
	case before.Numeral.IsApplied() && !backwards(before, last), raisedTonic(last):
		return 0
	case n.IsApplied() || n.Alter != 0, n.Degree != 1 && n.Degree != 5 && n.Degree != 6, n.Degree == 5 && !n.IsDominant():
		return endsAway
	case n.Degree == 6 && !(m.inner && isDominant(before)), n.IsTonic() && changes && !toTonic:
		return endsAway
	case n.IsTonic() && changes:
		return arrives(before)
	}
	return 0
}

// arrives is what the last chord before the tonic of an end counts.
func arrives(before harmony.Reading) float64 {
	switch {
	case before.Numeral.Degree != 5:
		return endsSoftly
	case before.Inversion() > 0:
		return endsLightly
	}
	return 0
}

// backwards reports whether a change goes against the functions. A six-four on the tonic's
// notes stands for the dominant after it.
func backwards(from, to harmony.Reading) bool {
	if from.Root() == to.Root() || isSixFour(to) {
		return false
	}
	cost := FunctionalSyntax(from, to)
	return cost < 0 || cost >= backward
}

// closesUnprepared reports whether the dominant that a phrase ends on, or that leads to its
// last chord, comes from the tonic and not from a predominant (Hutchinson, Music Theory for
// the 21st-Century Classroom, ch. 16: tonic, predominant, dominant, tonic).
func closesUnprepared(way tune.Way) bool {
	last := len(way) - 1
	at := first(way, last)
	if !isDominant(way[at]) {
		at = first(way, max(at-1, 0))
	}
	for at > 0 && isDominant(way[at]) && (isDominant(way[at-1]) || isSixFour(way[at-1])) {
		at--
	}
	return at > 0 && (isDominant(way[at]) || isSixFour(way[at])) && way[at-1].Numeral.IsTonic()
}

// first is the index where the chord begins that holds at another.
func first(way tune.Way, at int) int {
	for at > 0 && way[at-1] == way[at] {
		at--
	}
	return at
}

func isDominant(r harmony.Reading) bool {
	return !r.Numeral.IsApplied() && (r.Numeral.Degree == 5 || r.Numeral.Degree == 7) && r.Numeral.IsDominant()
}

func isMediant(r harmony.Reading) bool { return !r.Numeral.IsApplied() && r.Numeral.Degree == 3 }

// isSubdominantSix reports whether a chord is IV in first inversion, with a seventh or without.
func isSubdominantSix(r harmony.Reading) bool {
	return (r.Numeral.Degree == 4 && !r.Numeral.IsApplied() || raisedSubdominant(r)) && r.Inversion() == 1
}

// isSixFour reports whether a chord is a six-four on the tonic's notes.
func isSixFour(r harmony.Reading) bool {
	return r.Numeral.Cadential || r.Numeral.IsTonic() && r.Inversion() == 2
}

// degreeLifts are how much more likely chords on each degree are to count, appliedLift
// dominants of others and positionLifts the inversions. The likeliest ways have more of what
// is frequent than people have: with these the shares of the chords come nearer to theirs.
// Chosen on chorales, as near to their shares of degrees and inversions as the agreement with
// people's roots allows that there was before.
var (
	degreeLifts   = [8]float64{1: -0.6, 2: 0.9, 3: 1.7, 4: -0.5, 5: -0.3, 6: 1.7, 7: 1.3}
	appliedLift   = 2.0
	toFourthLift  = 0.4
	positionLifts = [4]float64{0, 0.2, 0.7, 1.0}
)

func lift(r harmony.Reading) float64 {
	n := r.Numeral
	sum := positionLifts[n.Inversion]
	switch {
	case raisedTonic(r), n.IsApplied() && r.Key.Mode == theory.MinorMode && inScale(r):
	case n.IsApplied() && n.Of.Degree == 4:
		sum += toFourthLift
	case n.IsApplied():
		sum += appliedLift
	default:
		sum += degreeLifts[n.Degree]
	}
	return sum
}
