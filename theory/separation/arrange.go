package separation

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
)

// arrangement is the lines of all staves in order from the top.
type arrangement struct {
	sel    *selection
	staves []staff
	ranked []rankedLine
	byName bool
}

// rankedLine is a line in its place among all.
type rankedLine struct {
	line
	st    *staff
	place int // among the staff's lines
}

// arrange puts the lines in order: staff by staff, the extra ones at the end.
func arrange(sel *selection, staves []staff, lines [][]line) *arrangement {
	a := &arrangement{sel: sel, staves: staves}
	order := a.orderStaves()
	count := 0
	for i := range lines {
		count += len(lines[i])
	}
	a.ranked = make([]rankedLine, 0, count)
	for _, extra := range [2]bool{false, true} {
		for _, i := range order {
			for place, l := range lines[i] {
				if l.extra == extra && len(l.tones) > 0 {
					a.ranked = append(a.ranked, rankedLine{line: l, st: &staves[i], place: place})
				}
			}
		}
	}
	a.limit()
	return a
}

// limit sets aside what goes beyond [theory.MaxVoices].
func (a *arrangement) limit() {
	for len(a.ranked) > theory.MaxVoices {
		a.sel.score.Work.Step(len(a.ranked))
		least := 0
		for i := range a.ranked {
			if x, y := &a.ranked[i], &a.ranked[least]; x.extra != y.extra {
				if x.extra {
					least = i
				}
			} else if len(x.tones) <= len(y.tones) {
				least = i
			}
		}
		r := &a.ranked[least]
		var notes []theory.NoteID
		for _, i := range r.tones {
			notes = append(notes, r.st.tones[i].ids...)
		}
		a.sel.aside = append(a.sel.aside, theory.SetAside{
			Part: r.st.part, Notes: notes,
			Reason: "more voices than the " + strconv.Itoa(theory.MaxVoices) + " that are compared",
		})
		a.ranked = slices.Delete(a.ranked, least, least+1)
	}
}

// shortScore is the most notes a staff may have for the document's own order to
// be taken as a hint: in a few chords with crossed voices mean pitch misleads.
const shortScore = 24

// orderStaves returns the staves in order from the top.
func (a *arrangement) orderStaves() []int {
	order := make([]int, len(a.staves))
	classes := make([]int, len(a.staves))
	named, short := true, true
	for i := range order {
		st := &a.staves[i]
		order[i] = i
		classes[i] = voiceClass(a.sel.score.Parts[st.part].Name)
		named = named && classes[i] >= 0
		short = short && len(st.tones) <= shortScore
	}
	byHeight := func(i, j int) int { return cmp.Compare(a.staves[j].height, a.staves[i].height) }
	if named {
		slices.SortStableFunc(order, func(i, j int) int {
			if a.staves[i].part == a.staves[j].part {
				return i - j
			}
			return cmp.Or(cmp.Compare(classes[i], classes[j]), byHeight(i, j))
		})
		if a.inOrder(order, 12) {
			a.byName = true
			return order
		}
		slices.Sort(order)
	}
	if short && a.inOrder(order, nearby) {
		return order
	}
	slices.SortStableFunc(order, byHeight)
	return order
}

func (a *arrangement) inOrder(order []int, slack float64) bool {
	heights := make([]float64, len(order))
	for i, at := range order {
		heights[i] = a.staves[at].height
	}
	return inOrderFromTop(heights, slack)
}

// voiceNames are the beginnings of the names by which choir parts go in English,
// German, French, Italian, Spanish and Latin, from the highest down.
var voiceNames = [4][]string{
	{"sopran", "soprano", "cantus", "canto", "discant", "diskant", "descant", "superius", "treble", "dessus", "tiple"},
	{"alt", "contralt", "haute-contre", "mezzo"},
	{"tenor", "ténor", "taille"},
	{"bas", "baß", "bajo", "bariton", "baryton"},
}

// voiceClass returns 0 for a soprano to 3 for a bass, by the part's name or its
// initial, and -1 for anything else.
func voiceClass(name string) int {
	name = strings.ToLower(strings.TrimSpace(name))
	for class, words := range voiceNames {
		if len(name) > 0 && name[0] == "satb"[class] && strings.Trim(name[1:], " .123456789iv") == "" {
			return class
		}
		for _, w := range words {
			if strings.HasPrefix(name, w) {
				return class
			}
		}
	}
	return -1
}

// voices builds the voices with their names.
func (a *arrangement) voices() []theory.Voice {
	own, total := 0, 0
	for i := range a.ranked {
		if !a.ranked[i].extra {
			own++
		}
		total += len(a.ranked[i].tones)
	}
	voices := make([]theory.Voice, len(a.ranked))
	backing := make([]theory.VoiceNote, total)
	regular, extra := 0, own
	for i := range a.ranked {
		r := &a.ranked[i]
		v := &voices[i]
		switch {
		case r.extra:
			extra++
			v.Name = "V" + strconv.Itoa(extra)
		case own == 4:
			v.Name = "SATB"[regular : regular+1]
			regular++
		default:
			regular++
			v.Name = "V" + strconv.Itoa(regular)
		}
		v.Part, v.Staff, v.Extra = r.st.part, a.staffOf(r), r.extra
		v.Found = a.foundLine(r)
		v.Notes, backing = backing[:len(r.tones):len(r.tones)], backing[len(r.tones):]
		a.sel.score.Work.Step(len(r.tones))
		for k, at := range r.tones {
			a.fill(&v.Notes[k], &r.st.tones[at])
		}
	}
	return voices
}

// staffOf returns the staff, counted from 1, on which most of a line is written.
func (a *arrangement) staffOf(r *rankedLine) int {
	home := r.st.number + 1
	staves := a.sel.score.Parts[r.st.part].Staves
	if staves < 2 {
		return home
	}
	var buffer [8]int
	counts := append(buffer[:0], make([]int, staves+1)...)
	best := min(home, staves)
	for _, i := range r.tones {
		for _, id := range r.st.tones[i].ids {
			staff := int(a.sel.score.Notes[id].Staff)
			if staff < 1 || staff > staves {
				continue
			}
			if counts[staff]++; counts[staff] > counts[best] {
				best = staff
			}
		}
	}
	return best
}

func (a *arrangement) fill(to *theory.VoiceNote, t *tone) {
	notes := a.sel.score.Notes
	first := &notes[t.ids[0]]
	*to = theory.VoiceNote{Pitch: first.Pitch, Onset: first.Onset, Duration: first.Duration, Measure: first.Measure, Flags: first.Flags, IDs: t.ids}
	for _, id := range t.ids[1:] {
		to.Duration = to.Duration.Add(notes[id].Duration)
		to.Flags |= notes[id].Flags
	}
}
