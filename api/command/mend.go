package command

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker/report"
	"partwright/worker/request"
)

// mendCommand are the settings of partwright mend.
type mendCommand struct {
	scoreFlags
	request request.Mend
	fields  *requestFlags
	format  string
}

func newMend() *cobra.Command {
	var f mendCommand
	cmd := &cobra.Command{
		Use:   "mend [flags] PATH…",
		Short: "Take the faults out of scores with the smallest changes",
		Long: `Mend changes as few notes as it can, and moves them as little as it can, so that
the faults of a score are gone and none is added. Rhythm, given voices and kept
measures stay. It prints what it changed and, with --out, writes
NAME.mended.musicxml (.mxl if the score was) and NAME.mending.json.

A PATH is a score, a folder, an archive, or - for standard input, as for check. With
more than one score, voices, measures and findings that a score lacks are skipped.

A mended exercise is a suggestion to discuss, not the solution.`,
		Example: `  partwright mend hand-in.musicxml
  partwright mend --keep S,B --out mended hand-in.musicxml
  partwright mend --only parallel-fifths@1 --alternatives 3 --both --out mended hand-in.musicxml
  partwright mend --out mended class.zip`,
		Args: somePaths,
		RunE: func(cmd *cobra.Command, paths []string) error { return f.run(cmd, paths) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, json or ndjson")
	f.add(flags, "the mended scores")
	f.addLabels(flags)
	f.fields = addRequest(flags, &f.request)
	return cmd
}

func (f *mendCommand) run(cmd *cobra.Command, paths []string) error {
	if err := f.fields.bind(nil); err != nil {
		return err
	}
	plan, err := f.request.Plan()
	if err != nil {
		return f.fields.inFlags(err)
	}
	plan.Alike = !oneFile(paths)
	w := cmd.OutOrStdout()
	output, err := newDocument(w, f.format, printed(func(r any) error {
		if f.quiet {
			return nil
		}
		return printMending(w, r.(*report.Mending))
	}))
	if err != nil {
		return err
	}
	s, err := openScores(cmd, &f.scoreFlags, paths)
	if err != nil {
		return err
	}
	defer s.close()
	t, err := s.answerAll(cmd.Context(), "mending", plan, output)
	if err != nil {
		return err
	}
	return t.exit(partwriting.Off)
}

func printMending(w io.Writer, r *report.Mending) error {
	fmt.Fprintf(w, "%s: %d before, %d left; %s changed, %s in all\n",
		r.File, r.Before, r.After, count(len(r.Edits), "note"), count(r.Semitones, "semitone"))
	if r.Advice != "" {
		fmt.Fprintln(w, wrap(r.Advice, widthOf(w)))
	}
	printWay(w, r.Edits, r.Left, r.New)
	for i, way := range r.Alternatives {
		fmt.Fprintf(w, "or, way %d: %d left; %s changed, %s in all\n",
			i+2, way.After, count(len(way.Edits), "note"), count(way.Semitones, "semitone"))
		printWay(w, way.Edits, way.Left, way.New)
	}
	return nil
}

func printWay(w io.Writer, edits []report.MendedNote, left, fresh []report.Left) {
	for _, e := range edits {
		fmt.Fprintf(w, "  measure %s, beat %g, %s: %s to %s\n", e.Measure, e.Beat, e.Note.Voice, e.Note.Pitch, e.To)
	}
	for _, l := range left {
		fmt.Fprintf(w, "  left at measure %s, beat %g: %s\n", l.Measure, l.Beat, l.Rule)
	}
	for _, l := range fresh {
		fmt.Fprintf(w, "  new at measure %s, beat %g: %s\n", l.Measure, l.Beat, l.Rule)
	}
}
