package command

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/classroom"
)

// classDecide are the settings of partwright class decide.
type classDecide struct {
	classFolder
	by, why                string
	attempt                int
	waive, accept, restore []int
	add, stock, costs      string
	mark                   string
	clear                  bool
}

func newClassDecide() *cobra.Command {
	var c classDecide
	cmd := &cobra.Command{
		Use:   "decide FOLDER REFERENCE",
		Short: "Decide on a hand-in: waive or accept findings, add a remark, set the mark",
		Long: `Decide enters into the log what the teacher decides on one hand-in, the last
attempt unless another is named. Findings are named by their numbers in the marked
score; those of one rule at one beat are decided together. A finding that is waived
costs nothing but still counts among the faults of the class; one that is accepted is
good as it is. Both marks, the proposed one and the teacher's, stay on record.`,
		Example: `  partwright class decide quiz p07 --by ms --waive 2 --why "the exercise wants it so"
  partwright class decide quiz p07 --by ms --add "3@2: the tenor is out of reach here" --costs 1
  partwright class decide quiz p07 --by ms --mark 17.5 --why "explained in class"`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error { return c.run(cmd, args[0], args[1]) },
	}
	flags := cmd.Flags()
	addBy(cmd, &c.by)
	flags.StringVar(&c.why, "why", "", "the reason, which goes back with the mark")
	flags.IntVar(&c.attempt, "attempt", 0, "which attempt (default: the last)")
	flags.IntSliceVar(&c.waive, "waive", nil, "numbers of findings that are to cost nothing")
	flags.IntSliceVar(&c.accept, "accept", nil, "numbers of findings that are good as they are")
	flags.IntSliceVar(&c.restore, "restore", nil, "numbers of findings that are to count again")
	flags.StringVar(&c.add, "add", "", "a remark of one's own at a printed measure, and a beat if one is named: \"3: …\" or \"3@2: …\"")
	flags.StringVar(&c.stock, "stock", "", "with --add, the name of a remark in the assignment's own stock in place of the text: --add 3@2 --stock NAME")
	flags.StringVar(&c.costs, "costs", "0", "points that the remark of one's own costs")
	flags.StringVar(&c.mark, "mark", "", "the mark, in place of the proposed one")
	flags.BoolVar(&c.clear, "clear-mark", false, "go back to the proposed mark")
	c.classFolder.add(cmd)
	return cmd
}

func (c *classDecide) run(cmd *cobra.Command, folder, reference string) error {
	m, err := c.open(cmd, folder)
	if err != nil {
		return err
	}
	defer func() { _ = m.Close() }()
	h, err := m.find(reference, c.attempt)
	if err != nil {
		return err
	}
	entries, err := c.entries(m, h)
	if err != nil {
		return err
	}
	if len(entries) == 0 {
		return errors.New("nothing is decided: say --waive, --accept, --restore, --add, --mark or --clear-mark")
	}
	if err := m.Enter(entries...); err != nil {
		return err
	}
	if err := c.classFolder.mark(cmd, m); err != nil {
		return Failed(err)
	}
	if h, err = m.find(reference, h.Attempt); err != nil {
		return err
	}
	o := m.Outcome(h, m.Log)
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s, attempt %d: proposed %s, now %s of %s. %s\n", o.Reference, o.Attempt, markText(o.Proposed), markText(o.Mark), o.Available, o.Note)
	return err
}

// entries are what flags say.
func (c *classDecide) entries(m *marked, h *classroom.HandIn) ([]classroom.Entry, error) {
	entry := func(do classroom.Action) classroom.Entry {
		return classroom.Entry{At: time.Now().UTC(), By: c.by, Do: do, Reference: h.Reference, Attempt: h.Attempt, Text: c.why}
	}
	var out []classroom.Entry
	for _, some := range []struct {
		do      classroom.Action
		numbers []int
	}{{classroom.Waive, c.waive}, {classroom.Accept, c.accept}, {classroom.Restore, c.restore}} {
		for _, n := range some.numbers {
			e := entry(some.do)
			var err error
			if e.Finding, err = h.Finding(n); err != nil {
				return nil, err
			}
			e.Number = n
			out = append(out, e)
		}
	}
	if c.add != "" {
		e := entry(classroom.Add)
		if err := c.remark(m, &e); err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	before := m.Outcome(h, m.Log)
	e := entry(classroom.SetMark)
	e.Proposed, e.Before = before.Proposed, before.Mark
	switch {
	case c.mark != "" && c.clear:
		return nil, errors.New("--mark sets a mark and --clear-mark takes it back: say one of them")
	case c.mark != "":
		mark, err := classroom.ParsePoints(c.mark)
		if err != nil {
			return nil, fmt.Errorf("--mark: %w", err)
		}
		e.Mark = &mark
		out = append(out, e)
	case c.clear:
		e.Do = classroom.ClearMark
		out = append(out, e)
	}
	return out, nil
}

// remark reads a remark of the teacher's own and its place.
func (c *classDecide) remark(m *marked, e *classroom.Entry) (err error) {
	place, text, _ := strings.Cut(c.add, ":")
	e.Measure, e.Beat, _ = strings.Cut(strings.TrimSpace(place), "@")
	e.Text = strings.TrimSpace(text)
	e.Stock = c.stock
	if err := m.FromStock(e); err != nil {
		return fmt.Errorf("--stock: %w", err)
	}
	if e.Points, err = classroom.ParsePoints(c.costs); err != nil {
		return fmt.Errorf("--costs: %w", err)
	}
	return nil
}
