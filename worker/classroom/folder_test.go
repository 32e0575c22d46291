package classroom_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/files"
	"partwright/worker/request"
)

// A folder gives back the assignment that was written to it.
func TestFolderKeepsTheAssignment(t *testing.T) {
	a := quiz(t, func(a *classroom.Assignment) {
		a.Points, a.Attempts, a.Shows = points(t, "12.5"), 2, classroom.CountsOnly
		a.Late = classroom.Late{Policy: classroom.LateCosts, Points: points(t, "0.5")}
		a.Groups, a.Stock = map[string][]string{"g1": {"p1", "p2"}}, map[string]string{"range": "mind the range"}
	})
	a.OwnRubric = request.Source{Name: "mine.yaml", Text: "name: mine\npoints: 10\nfaults: 1\n"}
	name := filepath.Join(t.TempDir(), "quiz")
	if err := classroom.CreateFolder(name, a); err != nil {
		t.Fatal(err)
	}
	f, err := classroom.OpenFolder(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	b := f.Assignment
	if b.Points.String() != "12.5" || b.Late.Points.String() != "0.5" || b.Attempts != 2 || !b.Closes.Equal(closes) || len(b.Models) != len(a.Models) ||
		b.Exercise.Text != a.Exercise.Text || b.OwnRubric.Text != a.OwnRubric.Text || len(b.Groups["g1"]) != 2 || b.Stock["range"] == "" || len(b.Demands) != 3 {
		t.Errorf("read back: %+v", b)
	}
	if err := classroom.CreateFolder(name, a); err == nil {
		t.Error("an assignment was written over another")
	}
	if next := b.NextYear("next"); next.ID != "next" || !next.Closes.IsZero() || next.Groups != nil || next.Exercise.Text != a.Exercise.Text {
		t.Errorf("for next year: %+v", next)
	}
}

// What is wrong in a folder is said with its file.
func TestFolderProblems(t *testing.T) {
	a := quiz(t)
	for file, test := range map[string]struct{ text, want string }{
		classroom.AssignmentFile: {"title: x\nshows: all\n", "shows: \"all\" is none of at-once, after-closing, counts, never"},
		classroom.RosterFile:     {"name\nsomebody\n", "none of its columns is called userSourcedId or sourcedId or reference"},
		classroom.ReceivedFile:   {"reference,received\np1,yesterday\n", "row 2: received \"yesterday\" is no time"},
		classroom.LogFile:        {"not JSON\n", "line 1"},
	} {
		name := filepath.Join(t.TempDir(), "quiz")
		if err := classroom.CreateFolder(name, a); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(name, file), []byte(test.text), 0o600); err != nil {
			t.Fatal(err)
		}
		if f, err := classroom.OpenFolder(name); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, %v", file, f, err)
		}
	}
	if _, err := classroom.OpenFolder(t.TempDir()); err == nil || !strings.Contains(err.Error(), "class new") {
		t.Errorf("an empty folder: %v", err)
	}
}

// A table of marks has one row a pupil: members of a group have one each, who has not
// handed in has one, and a mark that is not released has no score.
func TestResults(t *testing.T) {
	a := quiz(t, func(a *classroom.Assignment) { a.Groups = map[string][]string{"p04": {"x1", "x2"}} })
	log := classroom.Log{{By: "ms", Do: classroom.Release, Reference: "p04"}}
	marker, all := class(t, a, log)
	r := marker.Report(all, log, []string{"x1", "x2", "p01", "=cmd"})
	var out bytes.Buffer
	if err := r.Results(&out, a, closes); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(out.String()), "\n")
	if len(lines) != 1+29+2+1 {
		t.Errorf("%d rows", len(lines))
	}
	for _, want := range []string{
		"quiz-x1,active,2026-11-20T16:00:00Z,quiz,x1,fully graded,97,2026-11-20,", "quiz-x2,active,2026-11-20T16:00:00Z,quiz,x2,fully graded,97,",
		"quiz,p01,partially graded,,,", "quiz,p24,submitted,,,", "quiz,'=cmd,not submitted,,,",
	} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("no row has %s", want)
		}
	}
}

// The page stands alone: it asks nothing of any server, and shows text as text.
func TestPage(t *testing.T) {
	a := quiz(t, func(a *classroom.Assignment) { a.Title = "<b>Bass</b>" })
	marker, all := class(t, a, nil)
	for i := range all {
		if all[i].Reference == "p05" {
			all[i].Reference = "<i>5</i>"
		}
	}
	page, err := marker.Report(all, nil, nil).Page()
	if err != nil {
		t.Fatal(err)
	}
	text := string(page)
	for _, bad := range []string{"<b>", "<i>", "http://", "https://", "src=", "<script", "<no value>", "%!"} {
		if strings.Contains(text, bad) {
			t.Errorf("the page has %s", bad)
		}
	}
	for _, want := range []string{`href="#rule-parallel-fifths"`, `id="rule-parallel-fifths"`, `id="measure-2"`, `class="faulty"`, "Nothing is final", "&lt;b&gt;Bass"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	if n := strings.Count(text, "<svg"); n < 20 {
		t.Errorf("%d plots and drawings", n)
	}
}

// Names of files say reference and attempt, and one file that cannot be read stops no
// other.
func TestGather(t *testing.T) {
	a := quiz(t)
	name := filepath.Join(t.TempDir(), "quiz")
	if err := classroom.CreateFolder(name, a); err != nil {
		t.Fatal(err)
	}
	for file, text := range map[string]string{"p1.musicxml": a.Models[0].Text, "p1@2.xml": a.Models[1].Text, "p2.musicxml": "broken", "notes.txt": "x"} {
		if err := os.WriteFile(filepath.Join(name, classroom.HandInsFolder, file), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	f, err := classroom.OpenFolder(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	marker, err := classroom.NewMarker(context.Background(), f.Assignment, &worker.Engine{})
	if err != nil {
		t.Fatal(err)
	}
	g, err := f.Gather(context.Background(), marker, &files.Inputs{}, 1)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for i := range g.HandIns {
		got = append(got, g.HandIns[i].Name()+" "+string(g.HandIns[i].Marking.State))
	}
	if want := "p1 whole, p1@2 whole, p2 unreadable"; strings.Join(got, ", ") != want || len(g.Skipped) != 1 {
		t.Errorf("%v, skipped %v, want %s", got, g.Skipped, want)
	}
}
