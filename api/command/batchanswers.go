package command

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/store"
)

// kept is a kept answer on its way into files.
type kept struct {
	*store.Result
	place   string // in the folder for answers, "" for none
	answer  *batch.Answer
	summary *worker.Summary
	err     error
}

// write writes the answers into folders like those of the paths.
func (b *batching) write(ctx context.Context, id string) error {
	var reading error
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	b.progress.stage("writing")
	defer b.progress.finish()
	for k := range worker.InOrder(ctx, b.flags.workers, b.kept(ctx, id, &reading), b.file) {
		b.progress.step(b.total)
		err := k.err
		if err == nil {
			err = b.account(k)
		}
		if err != nil {
			return &status{exitUnreadable, fmt.Errorf("the answer to %s could not be written: %w", k.Name, err)}
		}
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if reading != nil {
		return &status{exitUnreadable, reading}
	}
	return nil
}

// kept are the answers of a batch, by number, each with a place of its own; failed says
// why there are no more.
func (b *batching) kept(ctx context.Context, id string, failed *error) iter.Seq[*kept] {
	return func(yield func(*kept) bool) {
		for after := int64(0); ; {
			page, err := b.service.Results(ctx, store.ResultQuery{
				Organization: store.SingleUser, Batch: id, After: after, Limit: 100,
				Reports: true, Marked: true, Analyses: true, Mendings: true,
			})
			if *failed = err; err != nil || len(page) == 0 {
				return
			}
			for i := range page {
				k := &kept{Result: &page[i]}
				after = k.Number
				if k.Problem == nil {
					k.place = b.dir.Claim(batch.PlaceOf(k.Result))
				}
				if !yield(k) {
					return
				}
			}
		}
	}
}

// file writes the files of a kept answer. It runs for several at once.
func (b *batching) file(_ context.Context, k *kept) *kept {
	if k.Problem != nil {
		return k
	}
	k.answer, k.err = batch.AnswerOf(k.Result)
	if k.err == nil {
		k.summary, k.err = k.answer.Summary()
	}
	var files []worker.File
	if k.err == nil {
		files, k.err = k.answer.Files()
	}
	if k.err == nil {
		k.err = b.dir.WriteAt(k.place, files)
	}
	return k
}

// account counts an answer, and says why there is none.
func (b *batching) account(k *kept) error {
	if k.Problem != nil {
		b.unreadable++
		return b.sayFailure(k.Problem, "")
	}
	b.read++
	b.summary.Add(k.summary)
	if found := k.answer.Analysis.Statistics; found != nil {
		b.statistics.Merge(found)
	}
	if mending := k.answer.Mending; mending != nil && mending.Problem != nil {
		return b.sayFailure(mending.Problem, "not mended: ")
	}
	return nil
}

// sayFailure names a failure that was kept.
func (b *batching) sayFailure(kept []byte, what string) error {
	var f worker.Failure
	if err := json.Unmarshal(kept, &f); err != nil {
		return err
	}
	b.say("%s%s", what, f.Error())
	return nil
}
