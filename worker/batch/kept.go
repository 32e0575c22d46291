package batch

import (
	"encoding/json"
	"errors"
	"fmt"

	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/store"
)

// Kept is what is kept of the answer to one score, unpacked: what was asked for of the
// batch and of the query.
type Kept struct {
	// Check is the answer of the check. Its report is nil where only other parts were
	// asked for.
	Check *answer.Answer
	// Mending and Voicing are those of the further jobs, nil where there was none.
	Mending, Voicing *Further
}

// Further is the answer of a job that was done beside the check, or why there is
// none.
type Further struct {
	Answer  *answer.Answer
	Problem *report.Failure
}

// KeptOf unpacks a result.
func KeptOf(r *store.Result) (*Kept, error) {
	k := &Kept{Check: &answer.Answer{}}
	tables, err := r.Analysis.Unpack()
	if err == nil && tables != nil {
		k.Check, err = readTables(tables)
	}
	if err == nil {
		err = k.readCheck(r)
	}
	if err == nil {
		k.Mending, err = MendingOf(r)
	}
	if err == nil {
		k.Voicing, err = VoicingOf(r)
	}
	return k, err
}

// readCheck adds report and marked score.
func (k *Kept) readCheck(r *store.Result) error {
	if text, err := r.Report.Unpack(); err != nil {
		return err
	} else if text != nil {
		said := &report.Report{}
		if err := json.Unmarshal(text, said); err != nil {
			return fmt.Errorf("reading a stored report: %w", err)
		}
		k.Check.Report = said
	}
	marked, err := r.Marked.Unpack()
	if marked != nil {
		// Before the tables, as it is written.
		tables := k.Check.Files
		k.Check.Files = nil
		k.Check.AddScore(answer.Marked, 0, marked)
		k.Check.Files = append(k.Check.Files, tables...)
	}
	return err
}

// MendingOf reads the mending of a result, nil for none.
func MendingOf(r *store.Result) (*Further, error) { return readFurther(r.Mending, &report.Mending{}) }

// VoicingOf reads the voicing of a result, nil for none.
func VoicingOf(r *store.Result) (*Further, error) { return readFurther(r.Voicing, &report.Voicing{}) }

// readFurther reads the answer of a further job, whose report is read into a value of
// its kind.
func readFurther(blob store.Blob, into any) (*Further, error) {
	text, err := blob.Unpack()
	switch {
	case err != nil || text == nil:
		return nil, err
	case answer.IsBundle(text):
		a, err := answer.Unbundle(text, into)
		return &Further{Answer: a}, err
	case text[0] == '{':
		f := &Further{Problem: &report.Failure{}}
		if err := json.Unmarshal(text, f.Problem); err != nil {
			return nil, fmt.Errorf("reading a stored problem: %w", err)
		}
		return f, nil
	}
	return readEarlierMending(text)
}

// pack is what is kept of a further job.
func (f *Further) pack() (store.Blob, error) {
	if f == nil {
		return nil, nil
	}
	if f.Problem != nil {
		text, err := json.Marshal(f.Problem)
		return store.Pack(text), err
	}
	text, err := f.Answer.Bundle()
	return store.Pack(text), err
}

// renamed is what is kept of a further job for the same score under another name.
func (f *Further) renamed(name string) (store.Blob, error) {
	if f != nil && f.Answer != nil {
		f.Answer.Rename(name)
	}
	return f.pack()
}

// files are those of a further job; none where it failed.
func (f *Further) files() ([]answer.File, error) {
	if f == nil || f.Answer == nil {
		return nil, nil
	}
	return f.Answer.All()
}

// Summary counts the findings.
func (k *Kept) Summary() *report.Summary {
	if said, ok := k.Check.Report.(*report.Report); ok {
		return &said.Summary
	}
	return &report.Summary{}
}

// Files are all files of all jobs.
func (k *Kept) Files() ([]answer.File, error) {
	all, err := k.Check.All()
	for _, f := range []*Further{k.Mending, k.Voicing} {
		if err != nil {
			break
		}
		var more []answer.File
		more, err = f.files()
		all = append(all, more...)
	}
	return all, err
}

// keep packs the answer of a check for the store: the report and the marked score are
// asked for by themselves, the tables together.
func keep(a *answer.Answer, into *store.NewResult) error {
	line, err := a.Line()
	if err != nil {
		return err
	}
	into.Report = store.Pack(line)
	tables := &answer.Answer{Statistics: a.Statistics}
	for _, f := range a.Files {
		if f.IsScore() {
			into.Marked = store.Pack(f.Data)
		} else {
			tables.Files = append(tables.Files, f)
		}
	}
	if len(tables.Files) == 0 {
		return nil
	}
	text, err := tables.Bundle()
	into.Analysis = store.Pack(text)
	return err
}

// readTables reads the tables that are kept of a check.
func readTables(text []byte) (*answer.Answer, error) {
	if answer.IsBundle(text) {
		return answer.Unbundle(text, nil)
	}
	return readEarlierTables(text)
}

// renamed makes an earlier answer one to the same score under another name. The tables,
// which hold the name too, are those of a score of the same name.
func renamed(earlier *store.Result, name string, into *store.NewResult) error {
	into.Report, into.Marked, into.Analysis, into.Mending, into.Voicing = earlier.Report, earlier.Marked, earlier.Analysis, earlier.Mending, earlier.Voicing
	if earlier.Name == name {
		return nil
	}
	k := &Kept{Check: &answer.Answer{}}
	err := k.readCheck(&store.Result{Report: earlier.Report})
	if err != nil {
		return err
	}
	k.Check.Rename(name)
	line, err := k.Check.Line()
	if err != nil {
		return err
	}
	into.Report = store.Pack(line)
	mending, err := MendingOf(earlier)
	if err == nil {
		into.Mending, err = mending.renamed(name)
	}
	voicing, voicingErr := VoicingOf(earlier)
	if voicingErr == nil {
		into.Voicing, voicingErr = voicing.renamed(name)
	}
	return errors.Join(err, voicingErr)
}
