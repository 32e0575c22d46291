package classroom_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
)

var closes = time.Date(2026, time.November, 20, 16, 0, 0, 0, time.UTC)

// quiz is an assignment that was made of a row of chords.
func quiz(t testing.TB, change ...func(*classroom.Assignment)) *classroom.Assignment {
	t.Helper()
	a := &classroom.Assignment{
		ID: "quiz", Title: "Second quiz", Demands: []classroom.Demand{classroom.Chords, classroom.Inversions, classroom.Cadence},
		Unmet: points(t, "3"), Closes: closes,
	}
	for _, c := range change {
		c(a)
	}
	if err := classroom.Prepare(context.Background(), &worker.Engine{}, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass, Models: 3}); err != nil {
		t.Fatal(err)
	}
	return a
}

func points(t testing.TB, text string) classroom.Points {
	t.Helper()
	p, err := classroom.ParsePoints(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// class marks all hand-ins of the class, those of p29 a day late.
func class(t testing.TB, a *classroom.Assignment, log classroom.Log) (*classroom.Marker, []classroom.HandIn) {
	t.Helper()
	scores, err := classtest.HandIns(a)
	if err != nil {
		t.Fatal(err)
	}
	marker, err := classroom.NewMarker(context.Background(), a, &worker.Engine{})
	if err != nil {
		t.Fatal(err)
	}
	var all []classroom.HandIn
	for _, name := range slices.Sorted(maps.Keys(scores)) {
		h := classroom.HandIn{Received: closes.Add(-time.Hour)}
		h.Reference, h.Attempt = classroom.FromName(name)
		if h.Reference == "p29" {
			h.Received = closes.Add(time.Hour)
		}
		d := log.Decided(h.Reference, h.Attempt)
		if err := marker.Decide(context.Background(), &h, scores[name], &d); err != nil {
			t.Fatal(err)
		}
		all = append(all, h)
	}
	return marker, all
}

func handIn(t testing.TB, all []classroom.HandIn, name string) *classroom.HandIn {
	t.Helper()
	for i := range all {
		if all[i].Name() == name {
			return &all[i]
		}
	}
	t.Fatalf("nothing was handed in as %s", name)
	return nil
}

// What the class hands in has the faults that were written into it, at their places, and no
// others. The faults are made by hand, by the definitions that classtest names.
func TestKnownFaultsAreFound(t *testing.T) {
	fifths := "parallel-fifths 1:4"
	octaves := "contrary-octaves 3:1, parallel-octaves 3:2"
	want := map[string]string{
		"p01": "whole", "p02": "whole", "p03": "whole", "p29": "whole",
		"p12": "whole: chords 2:2 ii6 IV", "p15": "whole: chords 3:2 vi IV6",
		"p16": "whole: seventh-unresolved 4:1", "p17": "whole: leading-tone-doubled 3:4, parallel-octaves 4:1",
		"p18": "whole", "p19": "whole: spacing 1:1", "p20": "whole: " + fifths + ", " + octaves,
		"p21": "whole: parallel-fifths 1:4, parallel-octaves 3:2", "p23": "transposed", "p24": "empty", "p25": "exercise-itself",
		"p26": "wrong-score", "p27": "unfinished: unfinished 4:1, unfinished 4:1, unfinished 4:1, chords 4:1 I C",
		"p28":   "given-changed: given-line-changed 3:2, inversions 3:2 vi vi6",
		"p30":   "whole: " + fifths + ", " + octaves,
		"p30@2": "whole: " + octaves,
	}
	for _, same := range []struct{ names, as string }{{"p04 p05 p06 p07 p08", fifths}, {"p09 p10 p11", octaves}} {
		for _, name := range strings.Fields(same.names) {
			want[name] = "whole: " + same.as
		}
	}
	want["p13"], want["p14"], want["p22"] = want["p12"], want["p12"], want["p21"]
	_, all := class(t, quiz(t), nil)
	if len(all) != len(want) {
		t.Fatalf("%d hand-ins, want %d", len(all), len(want))
	}
	for i := range all {
		m := all[i].Marking
		var faults []string
		for _, f := range m.Report.Findings {
			if f.Severity == "fault" && (m.State == classroom.Whole || m.State == classroom.Unfinished || m.State == classroom.GivenChanged) {
				faults = append(faults, fmt.Sprintf("%s %s:%s", f.Rule, f.Measure, f.BeatExact))
			}
		}
		for _, u := range m.Unmet {
			faults = append(faults, fmt.Sprintf("%s %s:%s %s %s", u.Kind, u.Measure, u.Beat, u.Wanted, u.Written))
		}
		got := string(m.State)
		if len(faults) > 0 {
			got += ": " + strings.Join(faults, ", ")
		}
		if got != want[all[i].Name()] {
			t.Errorf("%s: %s\nwant %s", all[i].Name(), got, want[all[i].Name()])
		}
		if whole := m.State == classroom.Whole; whole != (m.Proposed != nil) || whole != (m.Message == "") {
			t.Errorf("%s is %s: proposed %v, said %q", all[i].Name(), m.State, m.Proposed, m.Message)
		}
	}
}

// What cannot be read is said, and is no error of ours.
func TestUnreadable(t *testing.T) {
	a := quiz(t)
	marker, err := classroom.NewMarker(context.Background(), a, &worker.Engine{})
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"", "no score", "<score-partwise>"} {
		m, err := marker.Mark(context.Background(), []byte(text), nil)
		if err != nil || m.State != classroom.Unreadable || !strings.Contains(m.Message, "could not be opened") || m.Proposed != nil {
			t.Errorf("%q: %+v, %v", text, m, err)
		}
	}
}

// An exercise that cannot be solved is refused, with the reason.
func TestUnsolvable(t *testing.T) {
	a := &classroom.Assignment{Title: "x", Demands: []classroom.Demand{classroom.Chords}}
	err := classroom.Prepare(context.Background(), &worker.Engine{}, a, classroom.Order{Task: "C: I{C7,C7,C7,C3} V{B3,C4,D6,G2} I"})
	if err == nil {
		t.Error("an exercise with voices out of all order was taken")
	}
}

// Marks are the rubric's, brought to the points of the assignment and rounded to halves:
// 97 and 91 of 100 are 19.4 and 18.2 of 20. Each demand that is not met costs its points.
func TestMarks(t *testing.T) {
	a := quiz(t, func(a *classroom.Assignment) { a.Points = points(t, "20") })
	_, all := class(t, a, nil)
	for name, want := range map[string]string{"p01": "100 20", "p04": "97 19.5", "p12": "97 19.5", "p20": "91 18", "p30@2": "94 19"} {
		m := handIn(t, all, name).Marking.Proposed
		if got := m.Counted.String() + " " + m.Earned.String(); got != want || m.Note == "" {
			t.Errorf("%s: %s, want %s", name, got, want)
		}
	}
	if l := handIn(t, all, "p12").Marking.Proposed.Lines; len(l) != 1 || l[0].Rule != "demand-chords" || l[0].Lost.String() != "3" {
		t.Errorf("what the wrong chord costs: %+v", l)
	}
}

// What the teacher decides holds, and what was proposed stays on record.
func TestDecisions(t *testing.T) {
	a := quiz(t)
	_, all := class(t, a, nil)
	h := handIn(t, all, "p20")
	fifths := 0
	for _, f := range h.Marking.Report.Findings {
		if f.Rule == "parallel-fifths" {
			fifths = f.Number
		}
	}
	key, err := h.Finding(fifths)
	if err != nil || key != "parallel-fifths@4 in 1" {
		t.Fatalf("%s, %v", key, err)
	}
	if _, err := h.Finding(100); err == nil {
		t.Error("there is a finding 100")
	}
	entry := func(do classroom.Action, change ...func(*classroom.Entry)) classroom.Entry {
		e := classroom.Entry{At: closes, By: "ms", Do: do, Reference: "p20", Attempt: 1}
		for _, c := range change {
			c(&e)
		}
		return e
	}
	about := func(e *classroom.Entry) { e.Finding = key }
	mark := points(t, "80")
	set := func(e *classroom.Entry) { e.Mark, e.Text = &mark, "explained in class" }
	add := func(e *classroom.Entry) { e.Measure, e.Text, e.Points = "2", "no breath here", points(t, "1") }
	for _, test := range []struct {
		name, mark string
		log        classroom.Log
	}{
		{"nothing", "91", nil},
		{"a waived finding", "94", classroom.Log{entry(classroom.Waive, about)}},
		{"an accepted finding", "94", classroom.Log{entry(classroom.Accept, about)}},
		{"a finding that counts again", "91", classroom.Log{entry(classroom.Waive, about), entry(classroom.Restore, about)}},
		{"a remark of the teacher's own", "90", classroom.Log{entry(classroom.Add, add)}},
		{"a mark", "80", classroom.Log{entry(classroom.Waive, about), entry(classroom.SetMark, set)}},
		{"a mark taken back", "91", classroom.Log{entry(classroom.SetMark, set), entry(classroom.ClearMark)}},
		{"of another pupil", "91", classroom.Log{entry(classroom.SetMark, set, func(e *classroom.Entry) { e.Reference = "p21" })}},
	} {
		for i := range test.log {
			if err := test.log[i].Check(); err != nil {
				t.Errorf("%s: %v", test.name, err)
			}
		}
		_, all := class(t, a, test.log)
		h := handIn(t, all, "p20")
		o := a.Outcome(h, test.log)
		if o.Mark == nil || o.Mark.String() != test.mark || o.Proposed.String() != "91" {
			t.Errorf("%s: %v, proposed %v, want %s and 91", test.name, o.Mark, o.Proposed, test.mark)
		}
		if d := test.log.Decided("p20", 1); len(d.LetStand) > 0 && !strings.Contains(string(h.Marking.Score), "the teacher has accepted this") {
			t.Errorf("%s: the marked score does not show it", test.name)
		}
		if strings.HasPrefix(test.name, "a mark") && test.mark == "80" && (o.ChangedBy != "ms" || !o.ChangedAt.Equal(closes) || o.Why == "") {
			t.Errorf("%s: changed by %q at %v", test.name, o.ChangedBy, o.ChangedAt)
		}
	}
	for _, bad := range []classroom.Entry{{}, {By: "ms", Do: "praise"}, entry(classroom.Waive), entry(classroom.SetMark), {Do: classroom.Release}} {
		if bad.Check() == nil {
			t.Errorf("%+v passes", bad)
		}
	}
}

// A mark can be set where none was proposed.
func TestMarkOfUnfinishedWork(t *testing.T) {
	a := quiz(t)
	_, all := class(t, a, nil)
	h := handIn(t, all, "p27")
	mark := points(t, "40")
	o := a.Outcome(h, classroom.Log{{By: "ms", Do: classroom.SetMark, Reference: "p27", Mark: &mark}})
	if o.Proposed != nil || o.Mark == nil || *o.Mark != mark {
		t.Errorf("proposed %v, mark %v", o.Proposed, o.Mark)
	}
}

// Late work, attempts, extensions.
func TestLateness(t *testing.T) {
	two := points(t, "2")
	for _, test := range []struct {
		name         string
		change       func(*classroom.Assignment)
		log          classroom.Log
		late         int
		mark         string
		refused      bool
		after        time.Duration
		attempt      int
		referenceDay string
	}{
		{name: "accepted", change: func(*classroom.Assignment) {}, after: time.Hour, late: 1, mark: "100"},
		{name: "in time to the second", change: func(*classroom.Assignment) {}, after: 0, late: 0, mark: "100"},
		{name: "refused", change: func(a *classroom.Assignment) { a.Late.Policy = classroom.LateRefused }, after: time.Second, late: 1, mark: "", refused: true},
		{name: "costs a day", change: func(a *classroom.Assignment) { a.Late = classroom.Late{Policy: classroom.LateCosts, Points: two} }, after: time.Second, late: 1, mark: "98"},
		{name: "costs two begun days", change: func(a *classroom.Assignment) { a.Late = classroom.Late{Policy: classroom.LateCosts, Points: two} }, after: 25 * time.Hour, late: 2, mark: "96"},
		{name: "costs no more than the most", change: func(a *classroom.Assignment) {
			a.Late = classroom.Late{Policy: classroom.LateCosts, Points: two, Most: points(t, "3")}
		}, after: 100 * time.Hour, late: 5, mark: "97"},
		{name: "after the last day", change: func(a *classroom.Assignment) { a.Late.Days = 1 }, after: 25 * time.Hour, late: 2, mark: "", refused: true},
		{name: "extended", change: func(a *classroom.Assignment) { a.Late.Policy = classroom.LateRefused },
			log: classroom.Log{{By: "ms", Do: classroom.Extend, Reference: "p01", Until: closes.Add(2 * time.Hour)}}, after: time.Hour, mark: "100"},
		{name: "extended for another", change: func(a *classroom.Assignment) { a.Late.Policy = classroom.LateRefused },
			log: classroom.Log{{By: "ms", Do: classroom.Extend, Reference: "p02", Until: closes.Add(2 * time.Hour)}}, after: time.Hour, late: 1, mark: "", refused: true},
		{name: "one attempt more", change: func(a *classroom.Assignment) { a.Attempts = 1 }, attempt: 2, mark: "", refused: true},
	} {
		a := &classroom.Assignment{Title: "x", Closes: closes}
		test.change(a)
		if err := a.Check(); err != nil {
			t.Fatal(err)
		}
		h := &classroom.HandIn{Reference: "p01", Attempt: max(1, test.attempt), Received: closes.Add(test.after), Marking: &classroom.Marking{
			State: classroom.Whole, Proposed: &classroom.Mark{Earned: points(t, "100"), Available: points(t, "100")},
		}}
		o := a.Outcome(h, test.log)
		got := ""
		if o.Mark != nil {
			got = o.Mark.String()
		}
		if o.Late != test.late || got != test.mark || (o.Refused != "") != test.refused {
			t.Errorf("%s: %d days late, mark %q, %q", test.name, o.Late, got, o.Refused)
		}
	}
}

// What pupils see, and when. A mark is seen only once it is released, and no more when
// that is taken back.
func TestWhatPupilsSee(t *testing.T) {
	a := quiz(t)
	_, all := class(t, a, nil)
	h := handIn(t, all, "p04")
	before, after := closes.Add(-time.Minute), closes.Add(time.Minute)
	released := classroom.Log{{By: "ms", Do: classroom.Release}}
	back := append(slices.Clone(released), classroom.Entry{By: "ms", Do: classroom.TakeBack, Reference: "p04"})
	for _, test := range []struct {
		shows classroom.Showing
		now   time.Time
		log   classroom.Log
		want  string
	}{
		{classroom.AtOnce, before, nil, "findings counts"},
		{classroom.AfterClosing, before, nil, ""},
		{classroom.AfterClosing, after, nil, "findings counts"},
		{classroom.CountsOnly, after, nil, "counts"},
		{classroom.ShowsNothing, after, nil, ""},
		{classroom.ShowsNothing, after, released, "findings counts mark"},
		{classroom.ShowsNothing, after, back, ""},
		{classroom.CountsOnly, before, back, "counts"},
	} {
		a.Shows = test.shows
		s := a.ForPupil(h, test.log, test.now)
		var got []string
		for _, is := range []struct {
			yes  bool
			word string
		}{{s.Findings, "findings"}, {s.Counts != nil, "counts"}, {s.Mark != nil, "mark"}} {
			if is.yes {
				got = append(got, is.word)
			}
		}
		if strings.Join(got, " ") != test.want || s.Note == "" {
			t.Errorf("%s: %v, want %q", test.shows, got, test.want)
		}
	}
}

// Between two attempts, what is mended and what is new.
func TestBetweenAttempts(t *testing.T) {
	_, all := class(t, quiz(t), nil)
	c := classroom.Between(handIn(t, all, "p30").Marking, handIn(t, all, "p30@2").Marking)
	rules := func(list []classroom.Kept) (out []string) {
		for _, k := range list {
			out = append(out, k.Rule)
		}
		return out
	}
	if got := rules(c.Mended); !slices.Equal(got, []string{"all-one-direction", "parallel-fifths"}) {
		t.Errorf("mended: %v", got)
	}
	if got := rules(c.Stays); !slices.Equal(got, []string{"contrary-octaves", "parallel-octaves"}) || len(c.New) != 0 {
		t.Errorf("stays: %v, new: %v", got, c.New)
	}
}

// The copy and the transposed copy are found, and nobody else: the others follow the model
// answer, which explains that they are alike, but for two with the same two faults.
func TestAlike(t *testing.T) {
	marker, all := class(t, quiz(t), nil)
	var got []string
	for _, l := range marker.Alike(all) {
		got = append(got, fmt.Sprintf("%s %s %.2f %d", l.References[0], l.References[1], l.Alike, l.Transposed))
		if l.Explained >= 0.95 {
			t.Errorf("%v is explained by a model answer: %.2f", l.References, l.Explained)
		}
	}
	want := []string{"p20 p30 1.00 0", "p21 p22 1.00 0", "p21 p23 1.00 2", "p22 p23 1.00 2"}
	if slices.Sort(got); !slices.Equal(got, want) {
		t.Errorf("alike: %v, want %v", got, want)
	}
}

// Every figure of the report of the class, counted by hand from what was written into the
// hand-ins.
func TestReport(t *testing.T) {
	a := quiz(t)
	marker, all := class(t, a, nil)
	r := marker.Report(all, nil, []string{"p01", "p24", "p30", "p31"})
	if r.HandedIn != 30 || !slices.Equal(r.NotHandedIn, []string{"p31"}) || !slices.Equal(r.Attempts, []int{29, 1}) {
		t.Errorf("%d handed in, not %v, attempts %v", r.HandedIn, r.NotHandedIn, r.Attempts)
	}
	states := map[classroom.State]int{"whole": 24, "transposed": 1, "empty": 1, "exercise-itself": 1, "wrong-score": 1, "unfinished": 1, "given-changed": 1}
	if !maps.Equal(r.States, states) {
		t.Errorf("states %v", r.States)
	}
	// Of 100: no fault in p01, p02, p03, p18 (a caution costs nothing) and p29; 97 with one
	// fault or one wrong chord in p04 to p08, p12 to p16, p17 (the octaves follow from
	// the doubling), p19; 94 with two in p09 to p11, p21, p22, p30@2; 91 in p20.
	if m := r.Marks; m.Count != 24 || m.Least.String() != "91" || m.Most.String() != "100" || m.Mean != (5*100+12*97+6*94+91)/24.0 || m.Median != 97 || m.Tenths[9] != 24 {
		t.Errorf("marks %+v", m)
	}
	counts := map[string]string{}
	for _, c := range r.Rules {
		counts[c.Rule] = fmt.Sprintf("%d %s", c.Findings, strings.Join(c.Pupils, " "))
	}
	for rule, want := range map[string]string{
		"parallel-fifths":  "8 p04 p05 p06 p07 p08 p20 p21 p22",
		"parallel-octaves": "8 p09 p10 p11 p17 p20 p21 p22 p30",
		"contrary-octaves": "5 p09 p10 p11 p20 p30",
		"demand-chords":    "5 p12 p13 p14 p15 p27",
		"voice-crossing":   "1 p18", "spacing": "1 p19", "seventh-unresolved": "1 p16", "leading-tone-doubled": "1 p17",
	} {
		if counts[rule] != want {
			t.Errorf("%s: %s, want %s", rule, counts[rule], want)
		}
	}
	if w := r.WrongChords[0]; w.Wanted != "ii6" || w.Written != "IV" || w.Measure != "2" || !slices.Equal(w.Pupils, []string{"p12", "p13", "p14"}) {
		t.Errorf("the commonest wrong chord: %+v", w)
	}
	if len(r.TeachAgain) != 3 || r.TeachAgain[0].Rule != "parallel-fifths" || len(r.TeachAgain[0].Examples) != 1 || len(r.TeachAgain[1].Examples) != 2 || r.TeachAgain[0].Sentence == "" {
		t.Errorf("to teach again: %+v", r.TeachAgain)
	}
	text, err := json.Marshal(r.TeachAgain)
	if err != nil || strings.Contains(string(text), "p04") {
		t.Errorf("an example names a pupil: %s, %v", text, err)
	}
}

// What the exercise itself asks for, such as a chord that is repeated over the bar line, is said to be in the
// model answer too and is no lesson for the class; it is still counted among the findings.
func TestWhatTheExerciseItselfHas(t *testing.T) {
	a := &classroom.Assignment{ID: "phrases", Title: "Two phrases", Closes: closes}
	if err := classroom.Prepare(context.Background(), &worker.Engine{}, a, classroom.Order{Task: "C: I IV V I I IV V I", Gives: request.GivesBass, Models: 1}); err != nil {
		t.Fatal(err)
	}
	marker, err := classroom.NewMarker(context.Background(), a, &worker.Engine{})
	if err != nil {
		t.Fatal(err)
	}
	all := []classroom.HandIn{{Reference: "p01", Attempt: 1}, {Reference: "p02", Attempt: 1}}
	for i := range all {
		if all[i].Marking, err = marker.Mark(context.Background(), []byte(a.Models[0].Text), nil); err != nil {
			t.Fatal(err)
		}
	}
	r := marker.Report(all, nil, nil)
	const rule = "harmony-held-into-strong-beat"
	i := slices.IndexFunc(r.Rules, func(c classroom.RuleCount) bool { return c.Rule == rule })
	if i < 0 || r.Rules[i].Findings != 2 || r.Rules[i].InModel != 2 {
		t.Errorf("%+v", r.Rules)
	}
	if slices.ContainsFunc(r.TeachAgain, func(l classroom.Lesson) bool { return l.Rule == rule }) {
		t.Errorf("the class is to learn again what the exercise asks for: %+v", r.TeachAgain)
	}
	for _, c := range func() []classroom.RuleCount {
		marker, all := class(t, quiz(t), nil)
		return marker.Report(all, nil, nil).Rules
	}() {
		if c.Rule == "parallel-fifths" && c.InModel > 0 {
			t.Errorf("%d parallel fifths are in the model answer", c.InModel)
		}
	}
}

// An anonymous report names nobody, and numbers them alike at every call.
func TestAnonymous(t *testing.T) {
	marker, all := class(t, quiz(t), nil)
	r, again := marker.Report(all, nil, nil), marker.Report(all, nil, nil)
	r.Anonymous()
	again.Anonymous()
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for i := range all {
		if strings.Contains(string(text), `"`+all[i].Reference+`"`) {
			t.Errorf("it names %s", all[i].Reference)
		}
	}
	if same, _ := json.Marshal(again); string(same) != string(text) {
		t.Error("two calls number otherwise")
	}
	if len(r.HandIns) != len(all) || r.HandIns[0].Reference != "1" || r.HandIns[len(all)-1].Reference != "30" {
		t.Errorf("it begins with %s and ends with %s", r.HandIns[0].Reference, r.HandIns[len(all)-1].Reference)
	}
}

// Another rubric shows first what would change, and a mark that was set stays.
func TestMarkingAgain(t *testing.T) {
	a := quiz(t)
	mark := points(t, "80")
	log := classroom.Log{{By: "ms", Do: classroom.SetMark, Reference: "p20", Mark: &mark}}
	_, old := class(t, a, log)
	other := *a
	other.Rubric, other.OwnRubric = "milder", request.Source{Name: "milder.yaml", Text: "name: milder\npoints: 100\nfaults: 1\n"}
	_, now := class(t, &other, log)
	changes := map[string]string{}
	for _, c := range classroom.WouldChange(a, &other, old, now, log) {
		changes[c.Reference] = fmt.Sprint(c.From, c.To, c.Kept)
	}
	if changes["p04"] != "97 99 false" || changes["p01"] != "" || changes["p20"] != "" {
		t.Errorf("%v", changes)
	}
}

// Over a term, a rule that many have broken and hardly anybody breaks now is learned.
func TestOverTheTerm(t *testing.T) {
	made := func(title string, closes time.Time, handedIn int, broken ...string) *classroom.Report {
		return &classroom.Report{Title: title, Closes: closes, HandedIn: handedIn, Rules: []classroom.RuleCount{{Rule: "spacing", Name: "spacing", Pupils: broken}}}
	}
	s := classroom.Over([]*classroom.Report{made("second", closes.Add(time.Hour), 10, "a"), made("first", closes, 4, "a", "b")})
	if !slices.Equal(s.Assignments, []string{"first", "second"}) || len(s.Rules) != 1 || !slices.Equal(s.Rules[0].Shares, []float64{0.5, 0.1}) || !s.Rules[0].Learned {
		t.Errorf("%+v", s)
	}
}

// The languages have the same sentences, with the same places for values.
func TestWordsOfAllLanguages(t *testing.T) {
	classroom.CompareWords(t)
}
