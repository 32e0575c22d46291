package command

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/classroom"
	"partwright/worker/request"
)

// classNew are the settings of partwright class new.
type classNew struct {
	classFolder
	out           string
	order         classroom.Order
	demands       []string
	rules, rubric string
	points, unmet string
	opens, closes string
	late          string
	counts, shows string
	assignment    classroom.Assignment
}

func newClassNew() *cobra.Command {
	var c classNew
	cmd := &cobra.Command{
		Use:   "new [flags] TASK",
		Short: "Make an assignment: the sheet to hand out and the model answers",
		Long: `New makes an assignment of a task, as partwright voice takes it: a row of chords as
text, or a score with block chords, a bass with or without figures, or a melody. It
writes the exercise with empty staves, finds model answers, and sees that each of
them would pass: what cannot be solved is refused, with the reason.`,
		Example: `  partwright class new --out quiz --title "Second quiz" "C: I vi ii6 V7*2 I"
  partwright class new --out bass --title Bass --gives bass --demand chords,inversions,cadence figured-bass.musicxml`,
		Args: oneOf("task: a row of chords such as \"C: I IV V I\", or a score"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd, args[0]) },
	}
	flags, a := cmd.Flags(), &c.assignment
	flags.StringVar(&c.out, "out", "", "folder of the assignment, which is made (needed)")
	flags.StringVar(&a.Title, "title", "", "title at the head of the sheet (needed)")
	flags.StringVar(&c.order.Gives, "gives", request.Auto, "what the exercise gives and nobody may change: auto, bass, soprano or outer")
	flags.StringVar(&c.order.Style, "style", "", "texture: chorale, keyboard, three-voices, five-voices (default chorale)")
	flags.StringVar(&c.order.Layout, "layout", "", "open, closed or keyboard staves (default: what suits)")
	flags.IntVar(&c.order.Models, "models", 1, "how many model answers to find")
	flags.StringSliceVar(&c.demands, "demand", []string{string(classroom.Chords)}, "what has to be as the model answer has it, with commas between several: chords, inversions, labels (chords named in the score), cadence; \"\" for nothing")
	flags.StringVar(&c.rules, "rules", "", "rule set by name, or a .yaml or .json file with one of your own (default: what suits)")
	flags.StringVar(&c.rubric, "rubric", "", "rubric by name, or a .yaml or .json file with one of your own (default hundred)")
	flags.StringVar(&c.points, "points", "", "what the work is worth, such as 20; the rubric's mark is brought to it (default: as the rubric counts)")
	flags.StringVar(&c.unmet, "unmet", "3", "points of the rubric that each demand costs that is not met")
	flags.StringVar(&c.opens, "opens", "", "when it opens, such as 2026-11-20T08:00:00Z")
	flags.StringVar(&c.closes, "closes", "", "when it closes")
	flags.IntVar(&a.Attempts, "attempts", 0, "how often a pupil may hand in, 0 for any number")
	flags.StringVar(&c.counts, "counts", string(classroom.LastCounts), "which attempt counts: last or best")
	flags.StringVar(&c.late, "late", classroom.LateAccepted, "late work: accept, refuse, or costs N, points for each day that has begun")
	flags.StringVar(&c.shows, "shows", string(classroom.AfterClosing), "what pupils see of the findings before the marks are released: at-once, after-closing, counts or never")
	flags.StringVar(&a.Language, "lang", "en", "language of the sentences")
	c.add(cmd)
	return cmd
}

func (c *classNew) run(cmd *cobra.Command, task string) error {
	if c.out == "" {
		return errors.New("name a folder for the assignment with --out")
	}
	if err := c.fill(); err != nil {
		return err
	}
	if _, err := os.Stat(task); err == nil {
		if c.order.Score, err = readSource(task); err != nil {
			return Failed(err)
		}
	} else {
		c.order.Task = task
	}
	workers, err := c.pool(cmd)
	if err != nil {
		return err
	}
	a := &c.assignment
	if err := classroom.Prepare(cmd.Context(), workers, a, c.order); err != nil {
		return err
	}
	if err := classroom.CreateFolder(c.out, a); err != nil {
		return Failed(err)
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s: %s, with %s. Hand out %s; put what comes back into %s.\n",
		c.out, a.Title, count(len(a.Models), "model answer"), classroom.ExerciseFile, classroom.HandInsFolder)
	return err
}

// fill puts what flags say into the assignment.
func (c *classNew) fill() (err error) {
	a := &c.assignment
	a.ID, a.Counts, a.Shows = classroom.NewID(), classroom.Counted(c.counts), classroom.Showing(c.shows)
	for _, d := range c.demands {
		a.Demands = append(a.Demands, classroom.Demand(d))
	}
	if err := c.judge(); err != nil {
		return err
	}
	for flag, p := range map[string]struct {
		text string
		to   *classroom.Points
	}{"points": {c.points, &a.Points}, "unmet": {c.unmet, &a.Unmet}} {
		if p.text == "" {
			continue
		}
		if *p.to, err = classroom.ParsePoints(p.text); err != nil {
			return fmt.Errorf("--%s: %w", flag, err)
		}
	}
	for flag, t := range map[string]struct {
		text string
		to   *time.Time
	}{"opens": {c.opens, &a.Opens}, "closes": {c.closes, &a.Closes}} {
		if *t.to, err = timeIn(flag, t.text); err != nil {
			return err
		}
	}
	policy, costs, _ := strings.Cut(c.late, " ")
	a.Late.Policy = policy
	if policy == classroom.LateCosts {
		if a.Late.Points, err = classroom.ParsePoints(costs); err != nil {
			return fmt.Errorf("--late: %w", err)
		}
	}
	return nil
}

// judge chooses the rules and the rubric, by name or by file.
func (c *classNew) judge() (err error) {
	a := &c.assignment
	if isSettingsFile(c.rules) {
		if a.OwnRules, err = readSource(c.rules); err != nil {
			return Failed(err)
		}
	}
	if isSettingsFile(c.rubric) {
		if a.OwnRubric, err = readSource(c.rubric); err != nil {
			return Failed(err)
		}
	}
	a.Rules, a.Rubric = c.rules, c.rubric
	return nil
}

// timeIn reads the time of a flag, the zero time where it is empty.
func timeIn(flag, text string) (t time.Time, err error) {
	if text == "" {
		return t, nil
	}
	if t, err = time.Parse(time.RFC3339, text); err != nil {
		return t, fmt.Errorf("--%s: %q is no time such as 2026-11-27T16:00:00Z", flag, text)
	}
	return t, nil
}
