package command

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"

	"github.com/spf13/cobra"

	"partwright/worker"
)

// sweep is what every run over many scores shares.
type sweep struct {
	cmd      *cobra.Command
	flags    *checkFlags
	paths    []string
	pool     *worker.Pool
	dir      *worker.OutDir // nil without --out
	except   os.FileInfo    // identifies dir
	progress *progress

	read, unreadable, skipped int
}

func newSweep(cmd *cobra.Command, f *checkFlags, paths []string) (*sweep, error) {
	s := &sweep{cmd: cmd, flags: f, paths: paths, progress: newProgress(cmd.ErrOrStderr(), f.quiet)}
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: f.limits}
	var err error
	s.pool, err = worker.NewPool(worker.PoolConfig{Size: f.workers, Deadline: f.timeout}, engine, nil, nil)
	if err != nil {
		return nil, err
	}
	if f.out == "" {
		return s, nil
	}
	if s.dir, err = worker.OpenOutDir(f.out); err != nil {
		return nil, &status{exitUnreadable, fmt.Errorf("the folder for answers could not be opened: %w", err)}
	}
	if s.except, err = s.dir.Info(); err != nil {
		return nil, &status{exitUnreadable, err}
	}
	// Answers among the questions would be checked themselves next time.
	for _, p := range paths {
		if info, err := os.Stat(p); err == nil && os.SameFile(info, s.except) {
			return nil, fmt.Errorf("--out %s is one of the folders to check: name another", f.out)
		}
	}
	return s, nil
}

func (s *sweep) close() {
	if s.dir != nil {
		_ = s.dir.Close()
	}
}

// sweepOver does a job on every score among the paths and gives what comes of
// it to take, or to failed.
func sweepOver[T any](
	s *sweep,
	job func(context.Context, worker.Input) (T, error),
	take func(worker.Item, T) error, failed func(*worker.Failure) error,
) error {
	in, items, err := s.items()
	if err != nil {
		return err
	}
	ctx := s.cmd.Context()
	run := &worker.Run[T]{Job: job, Workers: s.flags.workers}
	s.progress.stage("checking")
	defer s.progress.finish()
	for o := range run.Over(ctx, items) {
		s.progress.step(in.Found())
		s.note(&o.Item)
		var err error
		switch {
		case o.Item.Skipped != "":
		case o.Err != nil:
			s.unreadable++
			failure := worker.NewFailure(o.Item.Name, o.Err)
			s.say("%s", failure.Error())
			err = failed(failure)
		default:
			s.read++
			s.progress.clear()
			err = take(o.Item, o.Result)
		}
		if err != nil {
			return &status{exitUnreadable, fmt.Errorf("the answer to %s could not be written: %w", o.Item.Name, err)}
		}
	}
	if ctx.Err() != nil {
		return &status{exitUnreadable, errors.New("stopped before the end")}
	}
	return s.anything()
}

// items are what the paths hold, with the labels that go with them.
func (s *sweep) items() (*worker.Inputs, iter.Seq[worker.Item], error) {
	archives := s.flags.archives
	archives.Bytes, archives.Ratio = s.flags.limits.MaxBytes, s.flags.limits.MaxRatio
	in := &worker.Inputs{
		Paths: s.paths, Stdin: s.cmd.InOrStdin(), Limits: s.flags.limits, Archives: archives, Except: s.except,
		Beside: s.flags.labels == besideScores,
	}
	items, err := withLabels(in.All(), s.flags.labels, s.paths)
	return in, items, err
}

// note says what is odd about an item, and counts and names what is passed over.
func (s *sweep) note(item *worker.Item) {
	if item.Note != "" {
		s.say("%s: %s", item.Name, item.Note)
	}
	if item.Skipped == "" || item.Expected {
		return
	}
	s.skipped++
	if !s.flags.quiet {
		s.say("%s: skipped, %s", item.Name, item.Skipped)
	}
}

// anything is an error where the paths hold no score.
func (s *sweep) anything() error {
	if s.read+s.unreadable == 0 {
		return errors.New("no score was found: name .musicxml, .xml or .mxl files, or folders or archives that hold some")
	}
	return nil
}

// say prints a line of what goes wrong, whatever --quiet says.
func (s *sweep) say(format string, args ...any) {
	s.progress.clear()
	fmt.Fprintf(s.cmd.ErrOrStderr(), "partwright: "+format+"\n", args...)
}

// tell prints a line of what goes well.
func (s *sweep) tell(format string, args ...any) {
	if !s.flags.quiet {
		fmt.Fprintf(s.cmd.ErrOrStderr(), format+"\n", args...)
	}
}

func (s *sweep) tally() string {
	text := count(s.read, "score") + " read"
	if s.unreadable > 0 {
		text += fmt.Sprintf(", %d unreadable", s.unreadable)
	}
	if s.skipped > 0 {
		text += ", " + count(s.skipped, "file") + " skipped"
	}
	return text
}

// end is the exit status of a run that came to its end.
func (s *sweep) end() error {
	if s.unreadable > 0 {
		return &status{code: exitUnreadable}
	}
	return nil
}

// count puts a number before a word: "1 score", "2 scores".
func count(n int, word string) string {
	if n != 1 {
		word += "s"
	}
	return fmt.Sprintf("%d %s", n, word)
}
