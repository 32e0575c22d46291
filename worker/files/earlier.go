package files

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strings"
	"sync"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Earlier are answers of an earlier run. Those that this version would give again are
// taken over. It is safe for concurrent use.
type Earlier struct {
	// version is that of the engine that takes answers over.
	version string
	// find reads the earlier report of a score by its name, nil where there is none.
	find func(name string) (*report.Report, error)
	// file reads another file of the same answer; nil where an answer is a report alone.
	file func(name, suffix string) ([]byte, error)

	mu     sync.Mutex
	counts map[string]int
}

// taken is the count of answers that were taken over, none that of scores without an
// earlier answer; the others are counted by what differs.
const (
	taken = ""
	none  = "none"
)

// OpenEarlier reads which scores have an answer in a folder that check --out or batch
// --out wrote.
func OpenEarlier(folder fs.FS, version string) (*Earlier, error) {
	at := map[string]string{} // without its suffix, by the name of the score
	err := fs.WalkDir(folder, ".", func(path string, entry fs.DirEntry, err error) error {
		place, found := strings.CutSuffix(path, answer.FindingsSuffix)
		if err != nil || entry.IsDir() || !found {
			return err
		}
		name, err := nameIn(folder, path)
		if err == nil {
			at[name] = place
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	if len(at) == 0 {
		return nil, errors.New("there is no answer in it: name a folder that check --out or batch --out wrote")
	}
	read := func(name, suffix string) ([]byte, error) { return fs.ReadFile(folder, at[name]+suffix) }
	return &Earlier{version: version, counts: map[string]int{}, file: read, find: func(name string) (*report.Report, error) {
		if _, ok := at[name]; !ok {
			return nil, nil //nolint:nilnil // none is no error
		}
		text, err := read(name, answer.FindingsSuffix)
		if err != nil {
			return nil, err
		}
		return decodeReport(name, text)
	}}, nil
}

// nameIn reads the name of the score from a report, in which it comes first.
func nameIn(folder fs.FS, path string) (string, error) {
	f, err := folder.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { _ = f.Close() }()
	in := json.NewDecoder(bufio.NewReader(f))
	for in.More() {
		key, err := in.Token()
		if err != nil {
			break
		}
		if key == "file" {
			if name, err := in.Token(); err == nil {
				if text, ok := name.(string); ok {
					return text, nil
				}
			}
			break
		}
	}
	return "", fmt.Errorf("%s is no report that can be read", path)
}

func decodeReport(name string, text []byte) (*report.Report, error) {
	r := &report.Report{}
	if err := json.Unmarshal(text, r); err != nil {
		return nil, fmt.Errorf("the earlier answer to %s cannot be read: %w", name, err)
	}
	return r, nil
}

// EarlierLines reads which scores have an answer among the lines of an earlier stream, of
// which it keeps where they stand.
func EarlierLines(in io.ReaderAt, version string) (*Earlier, error) {
	type place struct {
		from int64
		long int
	}
	at := map[string]place{}
	lines := bufio.NewReaderSize(io.NewSectionReader(in, 0, 1<<62), 1<<16)
	for from, number := int64(0), 1; ; number++ {
		line, err := lines.ReadBytes('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, err
		}
		if len(line) > 0 && line[len(line)-1] == '\n' { // the last may have been broken off
			var head struct {
				File string `json:"file"`
			}
			if json.Unmarshal(line, &head) != nil {
				return nil, fmt.Errorf("line %d is no answer", number)
			}
			if head.File != "" { // failures have none, and are tried again
				at[head.File] = place{from, len(line)}
			}
		}
		from += int64(len(line))
		if err != nil {
			break
		}
	}
	return &Earlier{version: version, counts: map[string]int{}, find: func(name string) (*report.Report, error) {
		where, ok := at[name]
		if !ok {
			return nil, nil //nolint:nilnil // none is no error
		}
		text := make([]byte, where.long)
		if _, err := in.ReadAt(text, where.from); err != nil {
			return nil, err
		}
		return decodeReport(name, text)
	}}, nil
}

// Take returns the earlier answer to a score where this version would give it again, else
// nil. The report says which version took it over.
func (e *Earlier) Take(in worker.Input, plan request.Plan) (*answer.Answer, error) {
	check, ok := plan.(*request.CheckPlan)
	if !ok || check.Revision != nil {
		return nil, nil //nolint:nilnil // only checks are taken over
	}
	said, err := e.find(in.Name)
	if err != nil {
		return nil, err
	}
	why := none
	if said != nil {
		why = worker.Differs(said, &in, check)
	}
	var a *answer.Answer
	if why == taken {
		said.Provenance.CarriedOverBy = e.version
		a = &answer.Answer{Report: said}
		if why, err = e.addFiles(in.Name, a, check); err != nil {
			return nil, err
		}
	}
	e.mu.Lock()
	e.counts[why]++
	e.mu.Unlock()
	if why != taken {
		return nil, nil //nolint:nilnil // it is to be answered anew
	}
	return a, nil
}

// addFiles adds the other files of an answer, or says "files" where one is not there.
func (e *Earlier) addFiles(name string, a *answer.Answer, plan *request.CheckPlan) (why string, err error) {
	for _, suffixes := range worker.FilesOf(plan) {
		if e.file == nil {
			return "files", nil
		}
		found := false
		for _, suffix := range suffixes {
			data, err := e.file(name, suffix)
			if errors.Is(err, fs.ErrNotExist) {
				continue
			}
			if err != nil {
				return "", err
			}
			a.Add(suffix, bytes.Clone(data))
			found = true
		}
		if !found {
			return "files", nil
		}
	}
	if plan.Analysis && plan.Files {
		a.Statistics = &report.HarmonyStatistics{}
		a.Statistics.Add(a.Report.(*report.Report).Analysis)
	}
	return taken, nil
}

// Counts says how many answers were taken over, and how many scores were answered anew by
// why: what differs, or "none" for no earlier answer.
func (e *Earlier) Counts() (over int, anew map[string]int) {
	e.mu.Lock()
	defer e.mu.Unlock()
	anew = maps.Clone(e.counts)
	delete(anew, taken)
	return e.counts[taken], anew
}

// String sums up the counts.
func (e *Earlier) String() string {
	over, anew := e.Counts()
	text := fmt.Sprintf("%d answers taken over", over)
	lead := "; answered anew: "
	for _, why := range slices.Sorted(maps.Keys(anew)) {
		said := "other " + why
		switch why {
		case none:
			said = "no earlier answer"
		case "files":
			said = "files missing"
		}
		text += fmt.Sprintf("%s%d (%s)", lead, anew[why], said)
		lead = ", "
	}
	return text
}

// Engine is what works on scores, such as a [pool.Pool].
type Engine interface {
	Do(context.Context, worker.Input, request.Plan) (*answer.Answer, error)
}

// Taking is an engine that takes answers over where it can.
type Taking struct {
	Engine
	Earlier *Earlier
}

// Do implements [Engine].
func (t Taking) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	if a, err := t.Earlier.Take(in, plan); a != nil || err != nil {
		return a, err
	}
	return t.Engine.Do(ctx, in, plan)
}
