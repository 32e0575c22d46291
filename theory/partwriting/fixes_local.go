package partwriting

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// wide are the rules that judge a phrase or a piece as a whole, so that some measures
// of it say nothing of what they find. A test holds all others to that.
var wide = map[RuleID]bool{
	"range": true, "tessitura": true, "narrow-bass": true, "static-soprano": true, "soprano-turns-back": true,
	"restless-upper-voices": true, "cadence-not-as-asked": true, "opening": true,
	"octave-doubling": true, "species-opening": true, "species-close": true, "imperfect-run": true, "climax-repeated": true,
}

// byNotesAlone are the wide rules that look at no line and at no pair of voices.
var byNotesAlone = map[RuleID]bool{"range": true, "tessitura": true, "cadence-not-as-asked": true}

// localJudge checks only the measures around a change again. Where the change reaches
// further, it asks the judge of the whole.
type localJudge struct {
	whole    *wholeJudge
	passage  *Passage
	accepted *acceptance
	// reread reads the harmony anew around a change, nil until it is needed.
	reread *harmony.Rereader
	// grave are the wide rules that find faults: they are asked about the whole; lines
	// is set where one of them looks at lines or pairs of voices.
	grave []*Rule
	lines bool
	areas map[bounds]*area
	// seen is what became of changes that were tried for another finding.
	seen map[change]*trial
	// local are the other rules that find faults. Those that have found a new one come
	// first, the latest before all others: most changes bring one that another brought too.
	local []*Rule
}

// change is a fix with the measures in which it is judged.
type change struct {
	bounds
	edits [2]Edit
}

// bounds are the first and the last measure in which a change may tell.
type bounds struct{ first, last int }

// area is the measures around a change, with margins: what begins or ends at the edge
// of an excerpt is no beginning or end of the music.
type area struct {
	bounds
	excerpt *theory.Excerpt
	harmony *harmony.Analysis
	// passage is the excerpt without a change, before are its faults.
	passage *Passage
	before  map[findingKey]Severity
}

// trial is one change, and what is found in its area by the harmony that was read
// before and by the one that is read now, as far as that was asked.
type trial struct {
	changed   *theory.Excerpt
	old, anew *Passage
	// faulty holds, for the old and the new reading, whether there is a new fault;
	// asked, whether that is known.
	faulty, asked [2]bool
	// far is set where only the whole tells.
	far bool
}

func newLocalJudge(whole *wholeJudge) *localJudge {
	p := whole.passage
	l := &localJudge{whole: whole, passage: p, areas: map[bounds]*area{}, seen: map[change]*trial{}}
	if len(p.Moments) == 0 {
		return l
	}
	l.accepted = newAcceptance(p.Set, p.Score)
	for _, r := range suite {
		switch {
		case p.Set.SeverityOf(r) < Fault:
		case wide[r.ID]:
			l.grave = append(l.grave, r)
			l.lines = l.lines || !byNotesAlone[r.ID]
		default:
			l.local = append(l.local, r)
		}
	}
	return l
}

// mends tries a fix in the measures around it.
func (l *localJudge) mends(f *Finding, fix Fix) bool {
	if l.needsWhole(f, fix) {
		return l.whole.mends(f, fix)
	}
	if pitchesAlone[f.Rule] && l.found(f, l.passage.with(fix, false)) {
		return false
	}
	b := l.boundsOf(f, fix)
	t := l.trialOf(b, fix)
	if l.remains(f, t.old) || l.spoils(b, t, 0, t.old) || l.spoilsWide(fix) {
		return false
	}
	if l.passage.Harmony == nil {
		return true
	}
	if t.anew == nil && !t.far {
		l.readAnew(b, t, fix)
	}
	if t.far {
		return l.whole.mends(f, fix)
	}
	return !l.remains(f, t.anew) && !l.spoils(b, t, 1, t.anew)
}

// pitchesAlone are the wide rules that look at the pitches of one voice and at nothing
// else: not at the harmony either.
var pitchesAlone = map[RuleID]bool{"range": true, "tessitura": true}

// needsWhole reports whether a finding cannot be judged by some measures, or a fix has
// more edits than a change can have.
func (l *localJudge) needsWhole(f *Finding, fix Fix) bool {
	return wide[f.Rule] && !pitchesAlone[f.Rule] || len(l.passage.Limits.Cadences) > 0 || len(fix.Edits) > len(change{}.edits)
}

// boundsOf are the measures from the one before a change or the finding to the one
// after.
func (l *localJudge) boundsOf(f *Finding, fix Fix) bounds {
	p := l.passage
	b := bounds{f.Measure, f.Measure}
	for _, e := range fix.Edits {
		notes := p.Voices[e.Note.Voice].Notes
		n := e.Note.Note
		b.first = min(b.first, int(notes[max(n-1, 0)].Measure), int(notes[n].Measure)-1)
		b.last = max(b.last, int(notes[min(n+1, len(notes)-1)].Measure), int(notes[n].Measure)+1)
	}
	return b
}

// margin is how many measures, and how many moments at least, an excerpt has beyond
// the measures that are looked at.
const (
	marginMeasures = 1
	marginMoments  = 4
)

func (l *localJudge) areaOf(b bounds) *area {
	if a := l.areas[b]; a != nil {
		return a
	}
	p := l.passage
	from := p.firstMomentOf(b.first)
	to := p.firstMomentOf(b.last + 1)
	from = max(min(p.firstMomentOf(b.first-marginMeasures), from-marginMoments), 0)
	to = min(max(p.firstMomentOf(b.last+1+marginMeasures), to+marginMoments), len(p.Moments))
	a := &area{bounds: b, excerpt: p.Texture.Excerpt(from, to)}
	if p.Harmony != nil {
		a.harmony = p.Harmony.Excerpt(a.excerpt)
	}
	a.passage = p.excerpt(a.excerpt, a.harmony)
	a.before = map[findingKey]Severity{}
	for _, k := range l.faults(a.passage, b) {
		a.before[k] = Fault
	}
	l.areas[b] = a
	return a
}

// firstMomentOf is the first moment in or after a measure.
func (p *Passage) firstMomentOf(measure int) int {
	at, _ := slices.BinarySearchFunc(p.Moments, measure, func(m theory.Moment, to int) int { return int(m.Measure) - to })
	return at
}

// trialOf makes a change in its area.
func (l *localJudge) trialOf(b bounds, fix Fix) *trial {
	key := change{bounds: b}
	copy(key.edits[:], fix.Edits)
	if t := l.seen[key]; t != nil {
		return t
	}
	a := l.areaOf(b)
	local := a.local(fix)
	t := &trial{old: a.passage.with(local, true)}
	t.changed = &theory.Excerpt{Texture: t.old.Texture, From: a.excerpt.From, First: a.excerpt.First}
	t.old.refresh()
	l.seen[key] = t
	return t
}

// local is a change by the notes of the excerpt.
func (a *area) local(fix Fix) Fix {
	local := Fix{Edits: slices.Clone(fix.Edits)}
	for i := range local.Edits {
		note := &local.Edits[i].Note
		note.Note -= a.excerpt.First[note.Voice]
	}
	return local
}

// refresh finds again what depends on pitches, after a change, beside lines and pairs.
func (p *Passage) refresh() {
	p.divided = p.Texture
	p.chords = slices.Clone(p.chords)
	for i := range p.chords {
		p.chords[i].sounds = p.makesChord(&p.chords[i])
	}
	p.findDoublings()
}

// readAnew reads the harmony of a changed excerpt, or finds that only the whole
// tells.
func (l *localJudge) readAnew(b bounds, t *trial, fix Fix) {
	p := l.passage
	if l.reread == nil {
		l.reread = harmony.NewRereader(p.Texture, p.Harmony)
	}
	notes := make([]harmony.Note, len(fix.Edits))
	for i, e := range fix.Edits {
		notes[i] = harmony.Note{Voice: e.Note.Voice, Note: e.Note.Note}
	}
	a := l.reread.Read(Apply(p.Texture, fix), t.changed, notes)
	if a == nil {
		t.far = true
		return
	}
	t.anew = p.excerpt(t.changed, a)
}

// remains reports whether a finding is still there in some measures after a change.
func (l *localJudge) remains(f *Finding, p *Passage) bool {
	return !pitchesAlone[f.Rule] && l.found(f, p)
}

// found reports whether a finding is there in a passage.
func (l *localJudge) found(f *Finding, p *Passage) bool {
	gone := keyOf(f)
	for _, found := range p.apply(RuleByID(f.Rule), l.accepted, nil) {
		if keyOf(&found) == gone {
			return true
		}
	}
	return false
}

// spoils reports whether a change brings a new fault.
func (l *localJudge) spoils(b bounds, t *trial, reading int, p *Passage) bool {
	if !t.asked[reading] {
		t.asked[reading] = true
		t.faulty[reading] = l.spoiled(p, b, l.areaOf(b).before)
	}
	return t.faulty[reading]
}

// spoiled reports whether there is a fault within some measures that was not there
// before. It ends at the first that nothing can weaken; what rests on the harmony may yet
// turn out to be doubtful, which all such findings together decide.
func (l *localJudge) spoiled(p *Passage, b bounds, before map[findingKey]Severity) bool {
	isNew := func(k findingKey) bool { return l.whole.before[k] < Fault && before[k] < Fault }
	certain := func(found []Finding) bool {
		return slices.ContainsFunc(found, func(f Finding) bool { return !mayBeDoubted(&f) })
	}
	var found []Finding
	for i, r := range l.local {
		was := len(found)
		if found = l.faultsOf(r, p, b, isNew, found); certain(found[was:]) {
			copy(l.local[1:], l.local[:i])
			l.local[0] = r
			return true
		}
	}
	p.weighDoubts(found)
	return slices.ContainsFunc(found, func(f Finding) bool { return f.Severity == Fault })
}

// faults are the faults within some measures that need no more than these to be found.
func (l *localJudge) faults(p *Passage, b bounds) []findingKey {
	var found []Finding
	for _, r := range l.local {
		found = l.faultsOf(r, p, b, func(findingKey) bool { return true }, found)
	}
	p.weighDoubts(found)
	var keys []findingKey
	for i := range found {
		if found[i].Severity == Fault {
			keys = append(keys, keyOf(&found[i]))
		}
	}
	return keys
}

// faultsOf appends the faults that a rule finds within some measures, as far as they are
// asked for.
func (l *localJudge) faultsOf(r *Rule, p *Passage, b bounds, asked func(findingKey) bool, found []Finding) []Finding {
	for _, f := range p.apply(r, l.accepted, nil) {
		if f.Severity == Fault && f.Measure >= b.first && f.Measure <= b.last && asked(keyOf(&f)) {
			found = append(found, f)
		}
	}
	return found
}

// spoilsWide asks the rules that need the whole.
func (l *localJudge) spoilsWide(fix Fix) bool {
	if len(l.grave) == 0 {
		return false
	}
	p := l.passage.with(fix, l.lines)
	var found []Finding
	for _, r := range l.grave {
		for _, f := range p.apply(r, l.accepted, nil) {
			if f.Severity == Fault && l.whole.before[keyOf(&f)] < Fault {
				found = append(found, f)
			}
		}
	}
	p.weighDoubts(found)
	for i := range found {
		if found[i].Severity == Fault {
			return true
		}
	}
	return false
}

// with returns a view of the passage after a change, in which the harmonies are as they
// were; lines says whether its lines and pairs of voices are wanted.
func (p *Passage) with(fix Fix, lines bool) *Passage {
	out := *p
	out.Texture = Apply(p.Texture, fix)
	out.cells, out.spellings = slices.Clone(p.cells), slices.Clone(p.spellings)
	n := len(p.Voices)
	for _, e := range fix.Edits {
		note := int32(e.Note.Note)
		for m := p.momentOf(e.Note); m < len(p.Moments) && out.cells[m*n+e.Note.Voice].note == note; m++ {
			c := &out.cells[m*n+e.Note.Voice]
			c.steps, c.semitones = int16(e.To.Diatonic()), int16(e.To.Semitones())
			out.spellings[m] = 0
			for v := range n {
				if at := out.cells[m*n+v].note; at >= 0 {
					out.spellings[m] = out.spellings[m].with(out.Voices[v].Notes[at].Pitch.Class())
				}
			}
		}
	}
	if lines {
		out.findLines()
		out.findPairs()
	}
	return &out
}
