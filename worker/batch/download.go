package batch

import (
	"archive/zip"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"path"
	"strings"
	"time"

	"partwright/worker/answer"
	"partwright/worker/collection"
	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/store"
)

// WriteFindings writes the findings of every score that has an answer, as they
// are, in the order of numbers. What has no answer yet is left out.
func (s *Service) WriteFindings(ctx context.Context, organization, id string, to report.Encoder) error {
	err := s.eachReport(ctx, organization, id, func(_ int64, r *report.Report, f *report.Failure) error {
		if f != nil {
			return to.Failure(f)
		}
		return to.Report(r)
	})
	if err != nil {
		return err
	}
	return to.Close()
}

// WriteTables adds every score that has an answer, with its number, to tables and ends
// them.
func (s *Service) WriteTables(ctx context.Context, organization, id string, to interface {
	Add(number int64, r *report.Report) error
	AddFailure(number int64, f *report.Failure) error
	Close() error
},
) error {
	err := s.eachReport(ctx, organization, id, func(number int64, r *report.Report, f *report.Failure) error {
		if f != nil {
			return to.AddFailure(number, f)
		}
		return to.Add(number, r)
	})
	if err != nil {
		return err
	}
	return to.Close()
}

// WriteTable writes one of the tables of [collection.Names] over a batch.
func (s *Service) WriteTable(ctx context.Context, organization, id, table string, w io.Writer) error {
	origin := collection.Origin{Engine: s.config.Version, Batch: id}
	return s.WriteTables(ctx, organization, id, collection.Open(origin, map[string]io.Writer{table: w}))
}

// eachReport calls f with the report or the failure of every score that has an answer,
// in the order of numbers.
func (s *Service) eachReport(ctx context.Context, organization, id string, f func(int64, *report.Report, *report.Failure) error) error {
	return s.each(ctx, store.ResultQuery{Organization: organization, Batch: id, Reports: true}, func(r *store.Result) error {
		if r.Problem != nil {
			var failure report.Failure
			if err := json.Unmarshal(r.Problem, &failure); err != nil {
				return fmt.Errorf("reading a stored problem: %w", err)
			}
			return f(r.Number, nil, &failure)
		}
		found, err := readReport(r)
		if err != nil {
			return err
		}
		return f(r.Number, found, nil)
	})
}

func readReport(r *store.Result) (*report.Report, error) {
	text, err := r.Report.Unpack()
	if err != nil {
		return nil, err
	}
	var report report.Report
	if err := json.Unmarshal(text, &report); err != nil {
		return nil, fmt.Errorf("reading a stored report: %w", err)
	}
	return &report, nil
}

// WriteNDJSON writes the same as [Service.WriteFindings] with
// [report.EncodeNDJSON], from the lines that are kept.
func (s *Service) WriteNDJSON(ctx context.Context, organization, id string, w io.Writer) error {
	lines := report.EncodeNDJSON(w)
	return s.each(ctx, store.ResultQuery{Organization: organization, Batch: id, Reports: true}, func(r *store.Result) error {
		if r.Problem != nil {
			var f report.Failure
			if err := json.Unmarshal(r.Problem, &f); err != nil {
				return fmt.Errorf("reading a stored problem: %w", err)
			}
			return lines.Failure(&f)
		}
		text, err := r.Report.Unpack()
		if err == nil {
			_, err = w.Write(append(text, '\n'))
		}
		return err
	})
}

// WriteMarked writes a .zip archive of the marked scores that there are, in the
// folders that they came in.
func (s *Service) WriteMarked(ctx context.Context, organization, id string, w io.Writer) error {
	q := store.ResultQuery{Organization: organization, Batch: id, Marked: true}
	return s.archive(ctx, q, w, func(r *store.Result) ([]answer.File, error) {
		k := &Kept{Check: &answer.Answer{}}
		err := k.readCheck(r)
		return k.Check.Files, err
	}, nil, time.Time{})
}

// WriteMended writes the same of the mended scores, each with what was changed in it.
func (s *Service) WriteMended(ctx context.Context, organization, id string, w io.Writer) error {
	q := store.ResultQuery{Organization: organization, Batch: id, Mendings: true}
	return s.archive(ctx, q, w, func(r *store.Result) ([]answer.File, error) {
		mending, err := MendingOf(r)
		if err != nil {
			return nil, err
		}
		return mending.files()
	}, nil, time.Time{})
}

// WriteAnswers writes the same of all [Kept.Files] of every score, and the statistics of
// the harmonic analysis where there is one: the folder that partwright batch writes.
func (s *Service) WriteAnswers(ctx context.Context, organization, id string, w io.Writer) error {
	q := store.ResultQuery{Organization: organization, Batch: id, Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true}
	b, err := s.batch(ctx, organization, id)
	if err != nil {
		return err
	}
	made := b.Finished // not now: the archive of a finished batch is the same each time
	if made.IsZero() {
		made = s.store.Now()
	}
	var counts report.HarmonyStatistics
	analyzed := false
	found := func(r *store.Result) ([]answer.File, error) {
		if r.Problem != nil {
			return nil, nil
		}
		kept, err := KeptOf(r)
		if err != nil {
			return nil, err
		}
		if kept.Check.Statistics != nil {
			counts.Merge(kept.Check.Statistics)
			analyzed = true
		}
		return kept.Files()
	}
	return s.archive(ctx, q, w, found, func() ([]answer.File, error) {
		if !analyzed {
			return nil, nil
		}
		return answer.StatisticsFiles(&counts)
	}, made)
}

// archive writes the files of all answers, and at the end those of the whole, of the time
// modified: whole may be nil for none.
func (s *Service) archive(ctx context.Context, q store.ResultQuery, w io.Writer,
	of func(*store.Result) ([]answer.File, error), whole func() ([]answer.File, error), modified time.Time,
) error {
	out := zip.NewWriter(w)
	places := files.NewPlaces()
	add := func(place string, modified time.Time, files []answer.File, err error) error {
		if err != nil || len(files) == 0 {
			return err
		}
		name := places.Claim(place)
		for _, f := range files {
			if err := addFile(out, name+f.Suffix, modified, f.Data); err != nil {
				return err
			}
		}
		return nil
	}
	err := s.each(ctx, q, func(r *store.Result) error {
		files, err := of(r)
		return add(PlaceOf(r), r.Finished, files, err)
	})
	if err == nil && whole != nil {
		files, filesErr := whole()
		err = add(answer.HarmonyStatistics, modified, files, filesErr)
	}
	if err != nil {
		return err
	}
	return out.Close()
}

// PlaceOf is where the answer to a score belongs: a path without an extension.
func PlaceOf(r *store.Result) string {
	if r.Place != "" {
		return r.Place
	}
	return strings.TrimSuffix(r.Name, path.Ext(r.Name))
}

func addFile(out *zip.Writer, name string, modified time.Time, data []byte) error {
	header := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: modified}
	if strings.HasSuffix(name, ".mxl") {
		header.Method = zip.Store // packed already
	}
	file, err := out.CreateHeader(header)
	if err == nil {
		_, err = file.Write(data)
	}
	return err
}

// WriteFindingStatistics writes how often each rule has something to say, as CSV; see
// [report.FindingStatistics].
func (s *Service) WriteFindingStatistics(ctx context.Context, organization, id string, w io.Writer) error {
	var counts report.FindingStatistics
	if err := s.WriteFindings(ctx, organization, id, counting{&counts}); err != nil {
		return err
	}
	table, err := counts.CSV()
	if err == nil {
		_, err = w.Write(table)
	}
	return err
}

// counting is an encoder that counts.
type counting struct{ *report.FindingStatistics }

func (c counting) Report(said any) error {
	if r, ok := said.(*report.Report); ok {
		c.Add(r)
	}
	return nil
}

func (c counting) Failure(*report.Failure) error {
	c.AddFailure()
	return nil
}

func (c counting) Close() error { return nil }

// WriteHarmonyStatistics writes what the harmonic analyses come to, as CSV; see
// [report.HarmonyStatistics]. Without the option it is a table without rows.
func (s *Service) WriteHarmonyStatistics(ctx context.Context, organization, id string, w io.Writer) error {
	var counts report.HarmonyStatistics
	err := s.each(ctx, store.ResultQuery{Organization: organization, Batch: id, Analyses: true}, func(r *store.Result) error {
		tables, err := r.Analysis.Unpack()
		if tables == nil || err != nil {
			return err
		}
		a, err := readTables(tables)
		if err == nil && a.Statistics != nil {
			counts.Merge(a.Statistics)
		}
		return err
	})
	if err != nil {
		return err
	}
	table, err := counts.CSV()
	if err == nil {
		_, err = w.Write(table)
	}
	return err
}
