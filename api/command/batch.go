package command

import (
	"context"
	"errors"
	"iter"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/store"
)

// stateDir is the folder in that for answers in which a batch is kept until all
// its answers are written.
const stateDir = ".partwright-batch"

// batchCommand are the settings of partwright batch.
type batchCommand struct {
	checkFlags
	keep   bool
	mend   bool
	choice mendChoice
}

func newBatch() *cobra.Command {
	var f batchCommand
	cmd := &cobra.Command{
		Use:   "batch [flags] --out DIR PATH…",
		Short: "Check an archive durably: goes on after a break",
		Long: `Batch does what check --out does, and keeps what is done in the folder for answers:
interrupted, it goes on where it was when it is started again with the same folder,
whatever ended it; with other options, or where files changed by size or time, it
begins anew and uses again the answers to what is still the same. The folders of the
paths and archives are mirrored.

Scores among the paths are stored in DIR/` + stateDir + ` until all answers are
written; --keep leaves them there, so that scores that did not change are answered
at once next time.

Exit status: as for check.`,
		Example: `  partwright batch --out marked collection/ hymns.zip
  partwright batch --out marked --analysis --labels beside --mend hand-ins.zip`,
		RunE: func(cmd *cobra.Command, paths []string) error {
			err := f.run(cmd, paths)
			if err != nil && cmd.Context().Err() != nil {
				return &status{exitUnreadable, errStopped} // whatever it was doing
			}
			return err
		},
	}
	flags := cmd.Flags()
	f.add(flags)
	flags.BoolVar(&f.mend, "mend", false, "also mend each score and write NAME.mended.musicxml (.mxl) and NAME.mending.json, as partwright mend does; what a score has not of what --mend-keep, --mend-keep-measures and --mend-only name is passed over")
	f.choice.add(flags, "mend-")
	flags.BoolVar(&f.keep, "keep", false, "keep what is stored after the end")
	return cmd
}

// batching is one run of partwright batch.
type batching struct {
	*answers
	service *batch.Service
	// options are those of a new batch.
	options batch.Options
	// total is how many scores the batch has.
	total int
}

func (f *batchCommand) run(cmd *cobra.Command, paths []string) error {
	if f.out == "" {
		return errors.New("batch writes files: name a folder for them with --out")
	}
	options, err := f.batchOptions(cmd.Flags())
	if err != nil {
		return err
	}
	all, err := newAnswers(cmd, &f.checkFlags, paths)
	if err != nil {
		return err
	}
	defer all.close()
	state := filepath.Join(f.out, stateDir)
	if _, err := os.Stat(state); len(paths) == 0 && err != nil {
		return errNoPaths // and nothing is made for them
	}
	data, err := store.Open(cmd.Context(), store.Config{Dir: state})
	if err != nil {
		return &status{exitUnreadable, err}
	}
	defer func() { _ = data.Close() }()
	if err := all.dir.PartsIn(stateDir + "/parts"); err != nil {
		return &status{exitUnreadable, err}
	}
	b := &batching{answers: all, options: options}
	b.service, err = batch.Open(cmd.Context(), batch.Config{
		Store: data, Pool: all.pool, Workers: f.workers, Version: cmd.Root().Version, KeepKeys: math.MaxInt64,
	})
	if err == nil {
		err = b.service.Start(cmd.Context())
	}
	if err != nil {
		return &status{exitUnreadable, err}
	}
	if err := b.work(cmd.Context(), f); err != nil {
		return err
	}
	if !f.keep {
		if err := errors.Join(data.Close(), os.RemoveAll(state)); err != nil {
			return &status{exitUnreadable, err}
		}
	}
	if err := b.anything(); err != nil {
		return err
	}
	return b.conclude()
}

// work answers the batch that is there or a new one, writes the answers, and stops the
// service.
func (b *batching) work(ctx context.Context, f *batchCommand) (err error) {
	defer func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
		defer cancel()
		if stopErr := b.service.Stop(last); err == nil && stopErr != nil {
			err = &status{exitUnreadable, stopErr}
		}
	}()
	id, err := b.begin(ctx)
	if err != nil {
		return err
	}
	if err := b.follow(ctx, id); err != nil {
		return err
	}
	if err := b.write(ctx, id); err != nil {
		return err
	}
	if b.read > 0 {
		err = b.fileStatistics()
	}
	if err == nil {
		err = b.settle(ctx)
	}
	return err
}

// stopTime is how long the scores that are worked on may take to end when the run
// does: those that do not are checked again next time.
const stopTime = 30 * time.Second

var errNoPaths = errors.New("name a score, a folder or an archive")

var errStopped = errors.New("stopped before the end; start it again to go on")

// noting says what is odd about items while they are stored, and how far that is.
func (b *batching) noting(in *worker.Inputs, items iter.Seq[worker.Item]) iter.Seq[worker.Item] {
	return func(yield func(worker.Item) bool) {
		b.progress.stage("taking in")
		defer b.progress.finish()
		for item := range items {
			b.progress.step(in.Found())
			b.note(&item)
			if !yield(item) {
				return
			}
		}
	}
}

// follow shows progress until the batch is finished.
func (b *batching) follow(ctx context.Context, id string) error {
	b.progress.stage("checking")
	defer b.progress.finish()
	watch := b.service.Watch(id)
	defer watch.End()
	for shown := int64(0); ; {
		changed := watch.Changed()
		s, err := b.service.Status(ctx, store.SingleUser, id)
		if err != nil {
			return &status{exitUnreadable, err}
		}
		for ; shown < s.Total-s.Waiting; shown++ {
			b.progress.step(int(s.Total))
		}
		b.total = int(s.Total)
		if s.State == store.BatchFinished {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-changed:
		case <-time.After(time.Second):
		}
	}
}
