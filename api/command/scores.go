package command

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"os"

	"github.com/spf13/cobra"

	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
)

// scores are those among the paths of a command, with what works on them and where the
// answers go.
type scores struct {
	inputs  *files.Inputs
	items   iter.Seq[files.Item]
	pool    *pool.Pool
	earlier *files.Earlier // nil without --earlier
	workers int
	out     *files.OutDir // nil without --out
	// one means that a single score is worked on: what it was asked for wrongly is
	// wrong use. Its files may have a name of their own.
	one     bool
	name    string
	console *console
}

func openScores(cmd *cobra.Command, f *scoreFlags, paths []string) (s *scores, err error) {
	archives := f.archives
	archives.Bytes, archives.Ratio = f.limits.MaxBytes, f.limits.MaxRatio
	s = &scores{
		inputs: &files.Inputs{
			Paths: paths, Stdin: cmd.InOrStdin(), Limits: f.limits, Archives: archives, Beside: f.labels == request.Beside,
		},
		workers: f.workers, one: oneFile(paths),
		console: newConsole(cmd, f.quiet),
	}
	if s.items, err = withLabels(s.inputs.All(), f.labels, paths); err != nil {
		return nil, err
	}
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: f.limits}
	if s.pool, err = pool.New(pool.Config{Size: f.workers, Deadline: f.timeout}, engine, nil, nil); err != nil {
		return nil, err
	}
	if f.earlier != "" {
		if f.out == "" {
			return nil, errors.New("--earlier takes over what was written: name a folder for answers with --out")
		}
		if s.earlier, err = files.OpenEarlier(os.DirFS(f.earlier), cmd.Root().Version); err != nil {
			return nil, Failed(fmt.Errorf("--earlier %s: %w", f.earlier, err))
		}
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

// engine is what works on the scores.
func (s *scores) engine() files.Engine {
	if s.earlier == nil {
		return s.pool
	}
	return files.Taking{Engine: s.pool, Earlier: s.earlier}
}

// sayEarlier says what was taken over.
func (s *scores) sayEarlier() {
	if s.earlier != nil {
		s.console.inform("%s", s.earlier)
	}
}

func (s *scores) close() {
	if s.out != nil {
		_ = s.out.Close()
	}
}

// answerAll does the job of a plan on every score, writes and prints what comes of it,
// and adds it up.
func (s *scores) answerAll(ctx context.Context, doing string, plan request.Plan, output output) (*totals, error) {
	return s.forEach(ctx, doing, func(ctx context.Context, in worker.Input) (*answer.Answer, error) {
		return s.engine().Do(ctx, in, plan)
	}, output)
}

// forEach is [scores.answerAll] for a job that looks at the score first.
func (s *scores) forEach(ctx context.Context, doing string, job func(context.Context, worker.Input) (*answer.Answer, error), output output) (*totals, error) {
	run := &files.Run[*answer.Answer]{Job: job, Workers: s.workers}
	t := &totals{}
	progress := s.console.progress
	progress.stage(doing)
	defer progress.finish()
	for o := range run.Over(ctx, s.items) {
		progress.step(s.inputs.Found())
		s.console.item(&o.Item)
		var err error
		switch {
		case o.Item.Skipped != "":
		case s.one && isRequestError(o.Err):
			return nil, o.Err
		case o.Err != nil:
			failure := report.NewFailure(o.Item.Name, o.Err)
			s.console.warn("%s", failure.Error())
			err = output.Failure(failure)
		default:
			progress.clear()
			err = s.writeAnswer(t, &o.Item, o.Result, output)
		}
		if err != nil {
			return nil, Failed(fmt.Errorf("the answer to %s could not be written: %w", o.Item.Name, err))
		}
	}
	if ctx.Err() != nil {
		return nil, Failed(errors.New("stopped before the end"))
	}
	if err := someScore(&run.Counts); err != nil {
		return nil, err
	}
	if err := output.Close(); err != nil {
		return nil, Failed(err)
	}
	t.counts = run.Counts
	return t, nil
}

// writeAnswer writes, prints and adds up one answer.
func (s *scores) writeAnswer(t *totals, item *files.Item, a *answer.Answer, output output) error {
	t.add(a)
	if s.out != nil {
		all, err := a.All()
		if err == nil {
			err = s.out.WriteFiles(cmp.Or(s.name, item.Place), all)
		}
		if err != nil {
			return err
		}
	}
	if p, ok := output.(scorePrinter); ok {
		return p.Answer(a)
	}
	if a.Report == nil {
		return nil
	}
	return output.Report(a.Report)
}

// isRequestError reports whether an error is one of the request, not of the score.
func isRequestError(err error) bool {
	return errors.As(err, new(*worker.RequestError)) || errors.As(err, new(*voicing.ProgressionError)) || errors.As(err, new(*voicing.ImpossibleError))
}

// oneFile reports whether the paths are a single file, or standard input.
func oneFile(paths []string) bool {
	if len(paths) != 1 {
		return false
	}
	info, err := os.Stat(paths[0])
	return paths[0] == "-" || err != nil || !info.IsDir() && !files.IsArchiveName(paths[0])
}

// someScore is an error where no score was found.
func someScore(c *files.Counts) error {
	if c.Read+c.Unreadable == 0 {
		return errors.New("no score was found: name .musicxml, .xml or .mxl files, or folders or archives that hold some")
	}
	return nil
}
