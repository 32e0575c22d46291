package command

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"

	"github.com/spf13/cobra"

	"partwright/worker"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/report"
)

// scores are those among the paths of a command, with what works on them and where the
// answers go.
type scores struct {
	inputs  *files.Inputs
	items   iter.Seq[files.Item]
	pool    *pool.Pool
	workers int
	out     *files.OutDir // nil without --out
	console *console
}

func openScores(cmd *cobra.Command, f *checkFlags, paths []string) (s *scores, err error) {
	archives := f.archives
	archives.Bytes, archives.Ratio = f.limits.MaxBytes, f.limits.MaxRatio
	s = &scores{
		inputs: &files.Inputs{
			Paths: paths, Stdin: cmd.InOrStdin(), Limits: f.limits, Archives: archives, Beside: f.labels == besideScores,
		},
		workers: f.workers,
		console: newConsole(cmd, f.quiet),
	}
	if s.items, err = withLabels(s.inputs.All(), f.labels, paths); err != nil {
		return nil, err
	}
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: f.limits}
	if s.pool, err = pool.New(pool.Config{Size: f.workers, Deadline: f.timeout}, engine, nil, nil); err != nil {
		return nil, err
	}
	if f.out == "" {
		return s, nil
	}
	s.out, s.inputs.Except, err = openOut(f.out, paths)
	return s, err
}

// openOut opens the folder for answers, and returns what tells it from others.
func openOut(folder string, paths []string) (*files.OutDir, os.FileInfo, error) {
	out, err := files.OpenOutDir(folder)
	if err != nil {
		return nil, nil, Failed(fmt.Errorf("the folder for answers could not be opened: %w", err))
	}
	itself, err := out.Info()
	if err != nil {
		return nil, nil, Failed(err)
	}
	// Answers among the questions would be checked themselves next time.
	for _, p := range paths {
		if info, err := os.Stat(p); err == nil && os.SameFile(info, itself) {
			return nil, nil, fmt.Errorf("--out %s is one of the folders to check: name another", folder)
		}
	}
	return out, itself, nil
}

func (s *scores) close() {
	if s.out != nil {
		_ = s.out.Close()
	}
}

// forEach does a job on every score and gives what comes of it to take, or to failed.
func forEach[T any](
	ctx context.Context, s *scores,
	job func(context.Context, worker.Input) (T, error),
	take func(files.Item, T) error, failed func(*report.Failure) error,
) (files.Counts, error) {
	run := &files.Run[T]{Job: job, Workers: s.workers}
	progress := s.console.progress
	progress.stage("checking")
	defer progress.finish()
	for o := range run.Over(ctx, s.items) {
		progress.step(s.inputs.Found())
		s.console.item(&o.Item)
		var err error
		switch {
		case o.Item.Skipped != "":
		case o.Err != nil:
			failure := report.NewFailure(o.Item.Name, o.Err)
			s.console.warn("%s", failure.Error())
			err = failed(failure)
		default:
			progress.clear()
			err = take(o.Item, o.Result)
		}
		if err != nil {
			return run.Counts, Failed(fmt.Errorf("the answer to %s could not be written: %w", o.Item.Name, err))
		}
	}
	if ctx.Err() != nil {
		return run.Counts, Failed(errors.New("stopped before the end"))
	}
	return run.Counts, someScore(&run.Counts)
}

// someScore is an error where no score was found.
func someScore(c *files.Counts) error {
	if c.Read+c.Unreadable == 0 {
		return errors.New("no score was found: name .musicxml, .xml or .mxl files, or folders or archives that hold some")
	}
	return nil
}
