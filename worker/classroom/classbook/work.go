package classbook

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"time"

	"partwright/worker/classroom"
	"partwright/worker/report"
	"partwright/worker/store"
)

// ErrNotShown is returned for what a pupil may not see yet.
var ErrNotShown = errors.New("the findings are not shown to pupils yet")

// Work is one attempt in full.
type Work struct {
	classroom.Seen
	// Findings is the report, nil where it may not be seen, or the score not be read.
	Report *report.Report `json:"report,omitempty"`
	// Unmet are demands that are not met, Proposed the mark as it was proposed, with its
	// reasons; both as the report.
	Unmet    []classroom.Unmet `json:"unmet,omitempty"`
	Proposed *classroom.Mark   `json:"proposed,omitempty"`
	// Since is what has changed since the attempt before.
	Since *classroom.Changes `json:"since,omitempty"`
	// Outcome is for teachers alone.
	Outcome *classroom.Outcome `json:"outcome,omitempty"`
	// Score is what was handed in, Marked the marked score with its extension, nil for none.
	Score     []byte `json:"-"`
	Marked    []byte `json:"-"`
	Extension string `json:"-"`
}

// Work shows one attempt of a reference to its teacher, or to the pupil as much as pupils
// may see now.
func (s *Service) Work(ctx context.Context, organization, id, reference string, attempt int, teacher bool) (*Work, error) {
	k, err := s.read(ctx, organization, id, reference, true)
	if err != nil {
		return nil, err
	}
	for i := range k.handIns {
		if k.handIns[i].Attempt == attempt {
			return s.work(ctx, k, i, teacher)
		}
	}
	return nil, store.ErrNotFound
}

// Revise gives notes of an attempt other pitches, see [classroom.Revise]. Nothing is kept: a
// pupil may hand in what comes of it.
func (s *Service) Revise(ctx context.Context, organization, id, reference string, attempt int, edits string, ids bool) (*classroom.Revision, error) {
	k, err := s.read(ctx, organization, id, reference, true)
	if err != nil {
		return nil, err
	}
	for i := range k.handIns {
		if k.handIns[i].Attempt != attempt {
			continue
		}
		score, err := k.scores[i].Unpack()
		if err != nil {
			return nil, err
		}
		return classroom.Revise(ctx, s.pool, score, edits, ids)
	}
	return nil, store.ErrNotFound
}

func (s *Service) work(ctx context.Context, k *kept, i int, teacher bool) (*Work, error) {
	h := &k.handIns[i]
	w := &Work{Seen: k.assignment.ForPupil(h, k.log, s.store.Now())}
	var err error
	if w.Score, err = k.scores[i].Unpack(); err != nil {
		return nil, err
	}
	marking, o := h.Marking, k.assignment.Outcome(h, k.log)
	switch {
	case teacher:
		w.Outcome = &o
	case !w.Findings:
		return w, nil
	default:
		m, err := s.marker(ctx, k)
		if err != nil {
			return nil, err
		}
		d := k.log.Decided(h.Reference, h.Attempt)
		if marking, err = m.MarkForPupil(ctx, w.Score, d.Accepted()); err != nil {
			return nil, err
		}
	}
	w.Report, w.Unmet = marking.Report, marking.Unmet
	w.Marked, w.Extension = marking.Score, marking.Extension
	if teacher || o.Released {
		if w.Marked, err = k.assignment.Remarked(w.Marked, &o); err != nil {
			return nil, err
		}
	}
	if teacher || w.Seen.Mark != nil {
		w.Proposed = marking.Proposed
	}
	if i > 0 {
		changes := classroom.Between(k.handIns[i-1].Marking, h.Marking)
		w.Since = &changes
	}
	return w, nil
}

// Marks are the attempts that count, by reference.
func (s *Service) Marks(ctx context.Context, organization, id string) ([]classroom.Outcome, error) {
	k, err := s.read(ctx, organization, id, "", false)
	if err != nil {
		return nil, err
	}
	out := []classroom.Outcome{}
	for _, o := range k.assignment.Outcomes(k.handIns, k.log) {
		if o.Counts {
			out = append(out, o)
		}
	}
	return out, nil
}

// WriteResults writes the attempts that count as a table, see [classroom.Report.Results].
func (s *Service) WriteResults(ctx context.Context, organization, id string, w io.Writer) error {
	a, err := s.Get(ctx, organization, id)
	if err != nil {
		return err
	}
	r, err := s.Report(ctx, organization, id)
	if err != nil {
		return err
	}
	return r.Results(w, a, s.store.Now())
}

// WriteArchive writes a .zip archive of all work as its teacher sees it: of each attempt
// the marked score and what is said about it.
func (s *Service) WriteArchive(ctx context.Context, organization, id string, w io.Writer) error {
	k, err := s.read(ctx, organization, id, "", true)
	if err != nil {
		return err
	}
	out := zip.NewWriter(w)
	for i := range k.handIns {
		h := &k.handIns[i]
		work, err := s.work(ctx, k, i, true)
		if err != nil {
			return err
		}
		if i > 0 && k.handIns[i-1].Reference != h.Reference {
			work.Since = nil
		}
		text, err := json.MarshalIndent(work, "", "  ")
		if err != nil {
			return err
		}
		if err := addFile(out, h, ".json", append(text, '\n')); err != nil {
			return err
		}
		if work.Marked == nil {
			continue
		}
		if err := addFile(out, h, ".marked"+work.Extension, work.Marked); err != nil {
			return err
		}
	}
	return out.Close()
}

// inNames are signs of references that would mean something in the name of a file.
var inNames = strings.NewReplacer("%", "%25", "/", "%2F", `\`, "%5C", ":", "%3A", "*", "%2A", "?", "%3F", `"`, "%22", "<", "%3C", ">", "%3E", "|", "%7C")

// addFile adds a file about an attempt to an archive.
func addFile(out *zip.Writer, h *classroom.HandIn, suffix string, data []byte) error {
	entry, err := out.CreateHeader(&zip.FileHeader{Name: inNames.Replace(h.Name()) + suffix, Method: zip.Deflate, Modified: h.Received.UTC().Truncate(time.Second)})
	if err == nil {
		_, err = entry.Write(data)
	}
	return err
}
