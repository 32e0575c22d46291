package worst

import (
	"context"
	"errors"
	"flag"
	"slices"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// long measures the worst cases in all sizes; the short form shows only that each ends
// well.
var long = flag.Bool("worst", false, "measure the worst cases of 64 kB, 1 MB and 64 MB")

// only picks the worst cases at a service by a part of their names.
var only = flag.String("worst-only", "", "send only the worst cases whose names hold this to a service")

// chaos is how long everything is sent at once.
var chaos = flag.Duration("chaos", 3*time.Second, "how long to send everything at once to a service, while its processes are killed")

// patient is how long work past its deadline may go on, in the long form.
const patient = time.Second

// bind makes the plan and the input of a case.
func (c *Case) bind(size int) (request.Plan, worker.Input, error) {
	said := request.Values{}
	for name, text := range c.Said {
		said[name] = request.Source{Text: text}
	}
	in := worker.Input{Name: "worst.musicxml"}
	if c.Score != nil {
		in.Data = c.Score(size)
	}
	if c.Text != nil && c.Field == "labels" {
		labels, err := settings.ReadLabels("worst.txt", []byte(c.Text(min(size, settings.MaxBytes-1))))
		if err != nil {
			return nil, in, err
		}
		in.Labels = labels
	} else if c.Text != nil {
		said[c.Field] = request.Source{Name: "worst.yaml", Text: c.Text(min(size, settings.MaxBytes-1))}
	}
	wish := request.Wish{Job: c.Job, Said: said}
	plan, err := wish.Plan()
	return plan, in, err
}

// known reports whether an error is one that a user is told what to do about.
func known(err error) bool {
	var (
		input      *musicxml.InputError
		wrong      *worker.RequestError
		field      *request.Error
		own        *settings.Error
		text       *voicing.ProgressionError
		impossible *voicing.ImpossibleError
		memory     *theory.MemoryError
	)
	return err == nil || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, stage.ErrDeadline) || errors.As(err, &input) || errors.As(err, &wrong) ||
		errors.As(err, &field) || errors.As(err, &own) || errors.As(err, &text) || errors.As(err, &impossible) || errors.As(err, &memory)
}

// Every worst case ends: with an answer, or with an error that says what to do. In the
// long form it ends soon after its deadline, and the slowest are listed.
func TestWorstCasesEnd(t *testing.T) {
	sizes, deadline := []int{16 << 10}, 150*time.Millisecond
	if *long {
		sizes, deadline = []int{64 << 10, 1 << 20, 64 << 20}, 2*time.Second
	}
	type late struct {
		name string
		by   time.Duration
	}
	var all []late
	for _, size := range sizes {
		for _, c := range Cases() {
			began := time.Now()
			plan, in, err := c.bind(size)
			parsed := time.Since(began)
			if !known(err) {
				t.Errorf("%s of %d bytes: %v", c.Name, size, err)
			}
			if err == nil {
				ctx, cancel := context.WithTimeout(t.Context(), deadline)
				began = time.Now()
				_, err = (&worker.Engine{Memory: 192 << 20}).Do(ctx, in, plan)
				parsed = time.Since(began) - deadline
				cancel()
				if !known(err) {
					t.Errorf("%s of %d bytes: %v", c.Name, size, err)
				}
			}
			t.Logf("%8d %-34s %8s past its deadline: %.90v", size, c.Name, parsed.Round(time.Millisecond), err)
			all = append(all, late{c.Name, parsed})
		}
	}
	slices.SortFunc(all, func(a, b late) int { return int(b.by - a.by) })
	for _, l := range all[:5] {
		t.Logf("latest: %s, %s", l.by.Round(time.Millisecond), l.name)
		if *long && l.by > patient {
			t.Errorf("%s goes on for %s past its deadline", l.name, l.by)
		}
	}
}
