package classroom

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strings"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/report"
)

// Gathered is all that was handed in to a folder.
type Gathered struct {
	HandIns []HandIn
	// Skipped are files among the work that are no scores, with the reason.
	Skipped []string
}

// Gather marks all that was handed in to a folder, with what the teacher has decided so
// far: each score once as it came and, where something in it is let stand, once more.
// Inputs says how scores are found and what bounds them, its paths apart.
func (f *Folder) Gather(ctx context.Context, marker *Marker, inputs *files.Inputs, workers int) (*Gathered, error) {
	inputs.Paths = []string{f.HandInsPath()}
	run := &files.Run[*HandIn]{Workers: workers, Job: func(ctx context.Context, in worker.Input) (*HandIn, error) {
		return f.one(ctx, marker, in)
	}}
	g := &Gathered{HandIns: []HandIn{}}
	for o := range run.Over(ctx, inputs.All()) {
		switch {
		case o.Item.Skipped != "":
			g.Skipped = append(g.Skipped, o.Item.Name+": "+o.Item.Skipped)
		case o.Err != nil && o.Result == nil:
			return nil, o.Err
		default:
			g.HandIns = append(g.HandIns, *o.Result)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(g.HandIns, func(a, b HandIn) int {
		if c := strings.Compare(a.Reference, b.Reference); c != 0 {
			return c
		}
		return a.Attempt - b.Attempt
	})
	return g, nil
}

// one marks one score of the folder.
func (f *Folder) one(ctx context.Context, marker *Marker, in worker.Input) (*HandIn, error) {
	base := path.Base(strings.ReplaceAll(in.Name, `\`, "/"))
	h := &HandIn{}
	h.Reference, h.Attempt = FromName(strings.TrimSuffix(base, path.Ext(base)))
	h.Received = f.Received(h.Reference, h.Attempt)
	d := f.Log.Decided(h.Reference, h.Attempt)
	return h, marker.Decide(ctx, h, in.Data, &d)
}

// Decide marks a hand-in as it came and with what was decided.
func (m *Marker) Decide(ctx context.Context, h *HandIn, score []byte, d *Decided) (err error) {
	if h.Marking, err = m.Mark(ctx, score, nil); err != nil {
		return err
	}
	if letStand := d.Accepted(); letStand != nil {
		h.First = h.Marking
		h.Marking, err = m.Mark(ctx, score, letStand)
	}
	return err
}

// Said is what is written about one hand-in.
type Said struct {
	Outcome Outcome  `json:"outcome"`
	Marking *Marking `json:"marking"`
	// Since is what has changed since the attempt before, nil for the first.
	Since *Changes `json:"since,omitempty"`
	// Pupil is what the pupil sees now.
	Pupil Seen `json:"pupil"`
}

// Write writes the report of a class and all that is said about its hand-ins to a folder
// of answers: class.json, class.html, results.csv, findings.csv, hand-ins/NAME.json with
// the marked score beside it, and all of those as marked.zip.
func (f *Folder) Write(out *files.OutDir, g *Gathered, r *Report, now time.Time) error {
	whole, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	page, err := r.Page()
	if err != nil {
		return err
	}
	var results, findings, archive bytes.Buffer
	if err := r.Results(&results, f.Assignment, now); err != nil {
		return err
	}
	if err := tabulate(&findings, g.HandIns); err != nil {
		return err
	}
	packed := zip.NewWriter(&archive)
	for i := range g.HandIns {
		said, err := f.said(g.HandIns, i, &r.HandIns[i], now)
		if err != nil {
			return err
		}
		for _, file := range said {
			name := path.Join("hand-ins", g.HandIns[i].Name()+file.Suffix)
			if err := out.Write(name, file.Data); err != nil {
				return err
			}
			entry, err := packed.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
			if err != nil {
				return err
			}
			if _, err := entry.Write(file.Data); err != nil {
				return err
			}
		}
	}
	if err := packed.Close(); err != nil {
		return err
	}
	for name, data := range map[string][]byte{
		"class.json": append(whole, '\n'), "class.html": page, "results.csv": results.Bytes(), "findings.csv": findings.Bytes(), "marked.zip": archive.Bytes(),
	} {
		if err := out.Write(name, data); err != nil {
			return err
		}
	}
	return nil
}

// said are the files about one hand-in.
func (f *Folder) said(all []HandIn, i int, o *Outcome, now time.Time) ([]answer.File, error) {
	h := &all[i]
	s := Said{Outcome: *o, Marking: h.Marking, Pupil: f.ForPupil(h, f.Log, now)}
	if i > 0 && all[i-1].Reference == h.Reference {
		changes := Between(all[i-1].Marking, h.Marking)
		s.Since = &changes
	}
	text, err := json.MarshalIndent(&s, "", "  ")
	if err != nil {
		panic("classroom: what is said of a hand-in is no JSON: " + err.Error()) // it is made of plain values
	}
	written := []answer.File{{Suffix: ".json", Data: append(text, '\n')}}
	if h.Marking.Score != nil {
		marked, err := f.Remarked(h.Marking.Score, o)
		if err != nil {
			return nil, fmt.Errorf("%s: writing the remarks into the marked score: %w", h.Name(), err)
		}
		written = append(written, answer.File{Suffix: string(answer.Marked) + h.Marking.Extension, Data: marked})
	}
	return written, nil
}

// tabulate writes the findings of all hand-ins as a table.
func tabulate(out *bytes.Buffer, all []HandIn) error {
	encoder := report.EncodeCSV(out)
	for i := range all {
		if r := all[i].Marking.Report; r != nil {
			named := *r
			named.File = all[i].Name()
			if err := encoder.Report(&named); err != nil {
				return err
			}
		}
	}
	return encoder.Close()
}
