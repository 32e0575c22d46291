package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"os"
	"path"
	"path/filepath"
	"strings"
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
	keep bool
}

func newBatch() *cobra.Command {
	var f batchCommand
	cmd := &cobra.Command{
		Use:   "batch [flags] --out DIR PATH…",
		Short: "Check an archive durably: goes on after a break",
		Long: `Batch does what check --out does, and keeps what is done in the folder for answers:
interrupted, it goes on where it was when it is started again with the same folder,
whatever ended it. The folders of the paths and archives are mirrored.

Scores among the paths are stored in DIR/` + stateDir + ` until all answers are
written; --keep leaves them there, so that scores that did not change are answered
at once next time.

Exit status: as for check.`,
		Example: `  partwright batch --out marked collection/ hymns.zip`,
		RunE:    func(cmd *cobra.Command, paths []string) error { return f.run(cmd, paths) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.out, "out", "", "folder to write the answers to")
	flags.StringVar(&f.rules, "rules", "", "rule set by `name`")
	flags.StringVar(&f.language, "lang", "en", "language of the sentences")
	flags.IntVar(&f.fixes, "fixes", 0, "how many ways to mend it to look for with each fault and caution")
	flags.BoolVar(&f.keep, "keep", false, "keep what is stored after the end")
	pool := worker.DefaultPoolConfig()
	flags.IntVar(&f.workers, "workers", pool.Size, "scores worked on at once")
	flags.DurationVar(&f.timeout, "timeout", pool.Deadline, "longest time for one score")
	flags.BoolVarP(&f.quiet, "quiet", "q", false, "print no progress and no summary")
	addLimits(flags, &f.limits)
	addArchiveLimits(flags, &f.archives)
	return cmd
}

// batching is one run of partwright batch.
type batching struct {
	*sweep
	service *batch.Service
}

func (f *batchCommand) run(cmd *cobra.Command, paths []string) error {
	if f.out == "" {
		return errors.New("batch writes files: name a folder for them with --out")
	}
	sweep, err := newSweep(cmd, &f.checkFlags, paths)
	if err != nil {
		return err
	}
	defer sweep.close()
	state := filepath.Join(f.out, stateDir)
	data, err := store.Open(cmd.Context(), store.Config{Dir: state})
	if err != nil {
		return &status{exitUnreadable, err}
	}
	defer func() { _ = data.Close() }()
	b := &batching{sweep: sweep}
	b.service, err = batch.Open(cmd.Context(), batch.Config{Store: data, Pool: sweep.pool, Workers: f.workers, Version: version()})
	if err == nil {
		err = b.service.Start(cmd.Context())
	}
	if err != nil {
		return &status{exitUnreadable, err}
	}
	if err := b.work(cmd.Context(), f, paths); err != nil {
		return err
	}
	if !f.keep {
		if err := errors.Join(data.Close(), os.RemoveAll(state)); err != nil {
			return &status{exitUnreadable, err}
		}
	}
	return b.end()
}

// work answers the batch that is there or a new one, and stops the service.
func (b *batching) work(ctx context.Context, f *batchCommand, paths []string) (err error) {
	defer func() {
		last, cancel := context.WithTimeout(context.WithoutCancel(ctx), f.timeout)
		defer cancel()
		err = errors.Join(err, b.service.Stop(last))
	}()
	id, err := b.begin(ctx, f, paths)
	if err != nil {
		return err
	}
	if err := b.follow(ctx, id); err != nil {
		return err
	}
	return b.write(ctx, id)
}

// begin takes up the batch that was interrupted, or makes one of the paths.
func (b *batching) begin(ctx context.Context, f *batchCommand, paths []string) (string, error) {
	all, err := b.service.List(ctx, store.SingleUser, 1)
	if err != nil {
		return "", &status{exitUnreadable, err}
	}
	// A finished one whose answers were not all written is still there, unless it
	// was to be kept.
	if len(all) > 0 && (all[0].State == store.BatchClosed || all[0].State == store.BatchFinished && !f.keep) {
		b.tell("going on with %d of %d scores answered; the paths are those of the first time", all[0].Total-all[0].Waiting, all[0].Total)
		return all[0].ID, nil
	}
	if len(paths) == 0 {
		return "", errors.New("name a score, a folder or an archive")
	}
	archives := f.archives
	archives.Bytes, archives.Ratio = f.limits.MaxBytes, f.limits.MaxRatio
	in := &worker.Inputs{Paths: paths, Stdin: b.cmd.InOrStdin(), Limits: f.limits, Archives: archives, Except: b.except}
	made, err := b.service.Create(ctx, batch.Order{
		Organization: store.SingleUser, Items: mirrored(in.All()),
		Options: batch.Options{RuleSet: f.rules, Language: f.language, Marks: true, Fixes: f.fixes},
	})
	if err != nil {
		return "", &status{exitUnreadable, err}
	}
	return made.ID, nil
}

// mirrored calls items by the place where their answers belong, so that it is kept
// with them.
func mirrored(items iter.Seq[worker.Item]) iter.Seq[worker.Item] {
	return func(yield func(worker.Item) bool) {
		for item := range items {
			item.Name = item.Place + path.Ext(item.Name)
			if !yield(item) {
				return
			}
		}
	}
}

// follow shows progress until the batch is finished.
func (b *batching) follow(ctx context.Context, id string) error {
	b.progress = newProgress(b.cmd.ErrOrStderr(), b.flags.quiet)
	defer b.progress.finish()
	for shown := int64(0); ; {
		changed := b.service.Changed(id)
		s, err := b.service.Status(ctx, store.SingleUser, id)
		if err != nil {
			return &status{exitUnreadable, err}
		}
		for ; shown < s.Total-s.Waiting; shown++ {
			b.progress.step(int(s.Total))
		}
		if s.State == store.BatchFinished {
			return nil
		}
		select {
		case <-ctx.Done():
			return &status{exitUnreadable, errors.New("stopped before the end; start it again to go on")}
		case <-changed:
		case <-time.After(time.Second):
		}
	}
}

// write writes the answers into folders like those of the paths.
func (b *batching) write(ctx context.Context, id string) error {
	for after := int64(0); ; {
		page, err := b.service.Results(ctx, store.ResultQuery{
			Organization: store.SingleUser, Batch: id, After: after, Limit: 100, Reports: true, Marked: true,
		})
		if err != nil {
			return &status{exitUnreadable, err}
		}
		if len(page) == 0 {
			b.tell("%s", b.tally())
			return nil
		}
		for i := range page {
			after = page[i].Number
			if err := b.file(&page[i]); err != nil {
				return &status{exitUnreadable, fmt.Errorf("the answer to %s could not be written: %w", page[i].Name, err)}
			}
		}
	}
}

func (b *batching) file(r *store.Result) error {
	if r.Problem != nil {
		var f worker.Failure
		if err := json.Unmarshal(r.Problem, &f); err != nil {
			return err
		}
		b.unreadable++
		b.say("%s", f.Error())
		return nil
	}
	b.read++
	text, err := r.Report.Unpack()
	if err != nil {
		return err
	}
	marked, err := r.Marked.Unpack()
	if err != nil {
		return err
	}
	name := b.dir.Claim(strings.TrimSuffix(r.Name, path.Ext(r.Name)))
	if err := b.dir.Write(name+".findings.json", append(text, '\n')); err != nil {
		return err
	}
	return b.dir.Write(name+".marked"+worker.ScoreExtension(marked), marked)
}
