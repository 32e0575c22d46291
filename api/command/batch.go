package command

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/batch"
	"partwright/worker/collection"
	"partwright/worker/files"
	"partwright/worker/request"
	"partwright/worker/store"
)

// stateDir is the folder in that for answers in which a batch is kept until all
// its answers are written.
const stateDir = ".partwright-batch"

// batchCommand are the settings of partwright batch.
type batchCommand struct {
	scoreFlags
	request request.Batch
	fields  *requestFlags
	keep    bool
	failOn  string
	known   *collection.Catalogue // nil for none
}

func newBatch() *cobra.Command {
	var f batchCommand
	cmd := &cobra.Command{
		Use:   "batch [flags] --out DIR PATH…",
		Short: "Check an archive durably: goes on after a break",
		Long: `Batch does what check --out does, and keeps its progress in the folder for answers.
Answers are written as they come, in the order of the scores. Whatever interrupts it, it
goes on where it was when you start it again with the same folder. If options changed,
or files by size or time, it begins anew and reuses the answers to everything that is
still the same. The folders of the paths and archives are mirrored.

Scores are stored in DIR/` + stateDir + ` until all answers are
written. --keep leaves them there, so that next time scores that did not change are
answered at once.

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
	f.add(flags, "NAME.findings.json and NAME.marked.musicxml (.mxl)")
	f.addLabels(flags)
	f.addTables(flags)
	f.addEarlier(flags)
	addFailOn(flags, &f.failOn)
	f.fields = addRequest(flags, &f.request)
	flags.BoolVar(&f.keep, "keep", false, "keep what is stored after the end")
	return cmd
}

func (f *batchCommand) run(cmd *cobra.Command, paths []string) error {
	if f.out == "" {
		return errors.New("batch writes files: name a folder for them with --out")
	}
	if err := f.fields.bind(nil); err != nil {
		return err
	}
	f.request.Marks = true
	if _, err := f.request.Plan(); err != nil {
		return f.fields.inFlags(err) // before anything is made
	}
	failOn, err := severityNamed("fail-on", f.failOn)
	if err != nil {
		return err
	}
	if f.known, err = f.readCatalogue(); err != nil {
		return err
	}
	s, err := openScores(cmd, &f.scoreFlags, paths)
	if err != nil {
		return err
	}
	defer s.close()
	state := filepath.Join(f.out, stateDir)
	if _, err := os.Stat(state); len(paths) == 0 && err != nil {
		return errNoPaths // and nothing is made for them
	}
	data, err := store.Open(cmd.Context(), store.Config{Dir: state})
	if err != nil {
		return Failed(err)
	}
	defer func() { _ = data.Close() }()
	if err := s.out.PartsIn(stateDir + "/parts"); err != nil {
		return Failed(err)
	}
	version := cmd.Root().Version
	service, err := batch.Open(cmd.Context(), batch.Config{
		Store: data, Pool: s.engine(), Workers: f.workers, Version: version, KeepKeys: math.MaxInt64,
	})
	if err == nil {
		err = service.Start(cmd.Context())
	}
	if err != nil {
		return Failed(err)
	}
	t, err := f.answerAll(cmd.Context(), s, service, version)
	if err != nil {
		return err
	}
	if !f.keep {
		if err := errors.Join(data.Close(), os.RemoveAll(state)); err != nil {
			return Failed(err)
		}
	}
	if err := someScore(&t.counts); err != nil {
		return err
	}
	s.warnUnused(f.known)
	s.sayEarlier()
	t.print(s.console)
	return t.exit(failOn)
}

// answerAll answers the batch that is there or a new one, writes the answers, and stops
// the service.
func (f *batchCommand) answerAll(ctx context.Context, s *scores, service *batch.Service, version string) (t *totals, err error) {
	defer func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
		defer cancel()
		if stopErr := service.Stop(last); err == nil && stopErr != nil {
			err = Failed(stopErr)
		}
	}()
	kept := &batch.Resumable{Service: service, Dir: s.out, File: planFile}
	plan, err := f.plan(s.inputs, version)
	if err != nil {
		return nil, err
	}
	b, err := begin(ctx, s, kept, plan, &f.request)
	if err != nil {
		return nil, err
	}
	t = &totals{counts: files.Counts{Skipped: int(b.Skipped)}}
	if err := write(ctx, s, service, b, t); err != nil {
		return nil, err
	}
	if f.request.Analysis && t.counts.Read > 0 {
		if err := t.writeStatistics(s.out); err != nil {
			return nil, err
		}
	}
	if f.tables != "" {
		tables, err := openTables(s.out, version, f.tables, f.known)
		if err != nil {
			return nil, err
		}
		defer tables.Discard()
		if err := service.WriteTables(ctx, store.SingleUser, b.ID, tables); err != nil {
			return nil, Failed(err)
		}
	}
	if err := kept.End(ctx); err != nil {
		return nil, Failed(err)
	}
	return t, nil
}

// stopTime is how long the scores that are worked on may take to end when the run
// does: those that do not are checked again next time.
const stopTime = 30 * time.Second

var errNoPaths = errors.New("name a score, a folder or an archive")

var errStopped = errors.New("stopped before the end; start it again to go on")

// write writes the answers as they come into folders like those of the paths, counts them,
// and says which there are not.
func write(ctx context.Context, s *scores, service *batch.Service, b *store.Batch, t *totals) error {
	progress := s.console.progress
	progress.stage("checking")
	defer progress.finish()
	for w, err := range service.WriteFolder(ctx, store.SingleUser, b.ID, s.out, s.workers) {
		if err != nil {
			return Failed(err)
		}
		progress.step(int(b.Total))
		if w.Failure != nil {
			t.counts.Unreadable++
			s.console.warn("%s", w.Failure.Error())
			continue
		}
		t.counts.Read++
		t.summary.Add(w.Summary)
		if w.Statistics != nil {
			t.statistics.Merge(w.Statistics)
		}
		if w.MendFailure != nil {
			s.console.warn("not mended: %s", w.MendFailure.Error())
		}
		if w.VoiceFailure != nil {
			s.console.warn("not voiced: %s", w.VoiceFailure.Error())
		}
	}
	return nil
}
