package command

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/classroom"
	"partwright/worker/files"
)

func newClassMark() *cobra.Command {
	var c classFolder
	var anonymous bool
	cmd := &cobra.Command{
		Use:   "mark FOLDER",
		Short: "Mark what was handed in, and write the report of the class",
		Long: `Mark checks all that lies in hand-ins/ against the exercise, proposes marks, and
applies what the teacher has decided. It writes to marks/: class.json and
class.html, the report of the class; results.csv, the marks with the columns of
OneRoster; findings.csv; for each hand-in NAME.json and the marked score; and all
of those as marked.zip. Run it again after every decision.`,
		Args: oneOf("folder of an assignment"),
		RunE: func(cmd *cobra.Command, args []string) error {
			m, err := c.open(cmd, args[0])
			if err != nil {
				return err
			}
			defer func() { _ = m.Close() }()
			out, err := files.OpenOutDir(m.MarksPath())
			if err != nil {
				return Failed(err)
			}
			defer func() { _ = out.Close() }()
			if err := m.Write(out, m.work, m.report, time.Now()); err != nil {
				return Failed(err)
			}
			if anonymous {
				m.report.Anonymous()
			}
			return printClass(cmd.OutOrStdout(), m.report)
		},
	}
	cmd.Flags().BoolVar(&anonymous, "anonymous", false, "print no references: hand-ins have numbers, in an order that does not follow them")
	c.add(cmd)
	return cmd
}

// printClass prints the marks of a class and what its pupils have broken most.
func printClass(w io.Writer, r *classroom.Report) error {
	var rows [][]string
	for i := range r.HandIns {
		o := &r.HandIns[i]
		rows = append(rows, []string{o.Reference, fmt.Sprint(o.Attempt), string(o.State), markText(o.Proposed), markText(o.Mark), remarksOn(o)})
	}
	width := widthOf(w)
	fmt.Fprintf(w, "%s: %s\n", r.Title, count(r.HandedIn, "reference"))
	if len(rows) > 0 {
		fmt.Fprintln(w, grid(width, []string{"reference", "attempt", "state", "proposed", "mark", ""}, rows))
	}
	if r.Marks.Count > 0 {
		fmt.Fprintf(w, "%s of %s: mean %.1f, median %.1f, %s to %s\n", count(r.Marks.Count, "mark"), r.Marks.Available, r.Marks.Mean, r.Marks.Median, r.Marks.Least, r.Marks.Most)
	}
	const mostRules = 5
	for i := range r.Rules[:min(len(r.Rules), mostRules)] {
		fmt.Fprintf(w, "%s: %s, %s\n", r.Rules[i].Name, count(len(r.Rules[i].Pupils), "pupil"), count(r.Rules[i].Findings, "finding"))
	}
	for _, l := range r.Alike {
		const percent = 100
		fmt.Fprintf(w, "alike: %s and %s, %.0f %%, of which a model answer explains %.0f %%\n", l.References[0], l.References[1], percent*l.Alike, percent*l.Explained)
	}
	_, err := fmt.Fprintln(w, wrap(r.Note, width))
	return err
}

// remarksOn says in few words what is to be known of a hand-in.
func remarksOn(o *classroom.Outcome) string {
	text := ""
	add := func(when bool, words string) {
		if when && text != "" {
			text += ", "
		}
		if when {
			text += words
		}
	}
	add(o.Late > 0, count(o.Late, "day")+" late")
	add(o.Refused != "", "does not count")
	add(o.ChangedBy != "", "set by "+o.ChangedBy)
	add(o.Released, "released")
	return text
}

func markText(p *classroom.Points) string {
	if p == nil {
		return "–"
	}
	return p.String()
}
