package classroom

import (
	"bufio"
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/goccy/go-yaml"

	"partwright/worker/request"
)

// Names of the files in a folder of an assignment. Work is handed in as
// hand-ins/REFERENCE.musicxml (.mxl, .xml), a further attempt as REFERENCE@2.musicxml.
const (
	AssignmentFile = "assignment.yaml"
	ExerciseFile   = "exercise.musicxml"
	RulesFile      = "rules.yaml"
	RubricFile     = "rubric.yaml"
	RosterFile     = "roster.csv"
	ReceivedFile   = "received.csv"
	LogFile        = "log.ndjson"
	HandInsFolder  = "hand-ins"
	MarksFolder    = "marks"
)

// mostInFolder bounds the files of an assignment that are read, in bytes.
const mostInFolder = 4 << 20

// Folder is an assignment that is kept as files in a folder.
type Folder struct {
	root *os.Root
	name string
	*Assignment
	Log    Log
	Roster []string
	times  map[string]time.Time
}

// NewID is an id that nothing else has.
func NewID() string { return strings.ToLower(rand.Text()) }

// CreateFolder writes an assignment to a folder that holds none yet.
func CreateFolder(name string, a *Assignment) error {
	if err := os.MkdirAll(filepath.Join(name, HandInsFolder), 0o750); err != nil {
		return err
	}
	root, err := os.OpenRoot(name)
	if err != nil {
		return err
	}
	defer func() { _ = root.Close() }()
	if _, err := root.Stat(AssignmentFile); err == nil {
		return fmt.Errorf("%s holds an assignment already: name another folder", name)
	}
	return writeAssignment(root, a)
}

func writeAssignment(root *os.Root, a *Assignment) error {
	text, err := yaml.MarshalWithOptions(a, yaml.IndentSequence(true))
	if err != nil {
		return err
	}
	files := map[string]string{AssignmentFile: strings.TrimRight(string(text), "\n") + "\n"}
	for name, source := range map[string]request.Source{ExerciseFile: a.Exercise, RulesFile: a.OwnRules, RubricFile: a.OwnRubric} {
		if source.Text != "" {
			files[name] = source.Text
		}
	}
	for _, m := range a.Models {
		files[m.Name] = m.Text
	}
	for name, text := range files {
		if err := root.WriteFile(name, []byte(text), 0o640); err != nil {
			return err
		}
	}
	return nil
}

// OpenFolder reads the assignment of a folder, its log, its roster and when work came.
func OpenFolder(name string) (*Folder, error) {
	root, err := os.OpenRoot(name)
	if err != nil {
		return nil, err
	}
	f := &Folder{root: root, name: name, times: map[string]time.Time{}}
	if err := f.read(); err != nil {
		_ = root.Close()
		return nil, err
	}
	return f, nil
}

// Close releases the folder.
func (f *Folder) Close() error { return f.root.Close() }

func (f *Folder) read() error {
	text, err := f.root.ReadFile(AssignmentFile)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s holds no %s: make an assignment with partwright class new", f.name, AssignmentFile)
	}
	if err != nil {
		return err
	}
	f.Assignment = &Assignment{}
	if err := yaml.UnmarshalWithOptions(text, f.Assignment, yaml.Strict()); err != nil {
		return fmt.Errorf("%s: %s", filepath.Join(f.name, AssignmentFile), yaml.FormatError(err, false, false))
	}
	for file, source := range map[string]*request.Source{ExerciseFile: &f.Exercise, RulesFile: &f.OwnRules, RubricFile: &f.OwnRubric} {
		if source.Text, err = f.optional(file); err != nil {
			return err
		}
		source.Name = file
	}
	models, err := fs.Glob(f.root.FS(), "model*.musicxml")
	if err != nil {
		return err
	}
	for _, name := range models {
		text, err := f.optional(name)
		if err != nil {
			return err
		}
		f.Models = append(f.Models, request.Source{Name: name, Text: text})
	}
	slices.SortFunc(f.Models, func(a, b request.Source) int { // model, model-2, …, model-10
		if n := len(a.Name) - len(b.Name); n != 0 {
			return n
		}
		return strings.Compare(a.Name, b.Name)
	})
	if err := f.Check(); err != nil {
		return fmt.Errorf("%s: %w", filepath.Join(f.name, AssignmentFile), err)
	}
	return f.readTables()
}

// readTables reads the log and the tables of the teacher.
func (f *Folder) readTables() error {
	if text, err := f.optional(RosterFile); err != nil {
		return err
	} else if text != "" {
		roster, err := ReadRoster(RosterFile, []byte(text))
		if err != nil {
			return err
		}
		f.Roster = roster.References
	}
	if text, err := f.optional(ReceivedFile); err != nil {
		return err
	} else if text != "" {
		receipts, err := ReadReceipts(ReceivedFile, []byte(text))
		if err != nil {
			return err
		}
		for _, r := range receipts {
			f.times[attemptName(r.Reference, r.Attempt)] = r.At
		}
	}
	text, err := f.optional(LogFile)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(strings.NewReader(text))
	lines.Buffer(nil, mostInFolder)
	for n := 1; lines.Scan(); n++ {
		var e Entry
		if err := json.Unmarshal(lines.Bytes(), &e); err != nil {
			return fmt.Errorf("%s, line %d: %w", filepath.Join(f.name, LogFile), n, err)
		}
		f.Log = append(f.Log, e)
	}
	return lines.Err()
}

// optional reads a file that need not be there.
func (f *Folder) optional(name string) (string, error) {
	info, err := f.root.Stat(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "", nil
	case err != nil:
		return "", err
	case info.Size() > mostInFolder:
		return "", fmt.Errorf("%s has %d bytes; at most %d are read", filepath.Join(f.name, name), info.Size(), mostInFolder)
	}
	text, err := f.root.ReadFile(name)
	return string(text), err
}

// HandInsPath is where the work lies.
func (f *Folder) HandInsPath() string { return filepath.Join(f.name, HandInsFolder) }

// MarksPath is where the answers go.
func (f *Folder) MarksPath() string { return filepath.Join(f.name, MarksFolder) }

// Received says when an attempt came, zero where nobody has said.
func (f *Folder) Received(reference string, attempt int) time.Time {
	return f.times[attemptName(reference, attempt)]
}

// attemptName is the name of the files of an attempt: the first has that of the reference.
func attemptName(reference string, attempt int) string {
	if attempt <= 1 {
		return reference
	}
	return reference + "@" + strconv.Itoa(attempt)
}

// Name is the name of the files of a hand-in.
func (h *HandIn) Name() string { return attemptName(h.Reference, h.Attempt) }

// FromName reads what [HandIn.Name] has written.
func FromName(name string) (reference string, attempt int) {
	if at := strings.LastIndexByte(name, '@'); at > 0 {
		if n, err := strconv.Atoi(name[at+1:]); err == nil && n > 0 {
			return name[:at], n
		}
	}
	return name, 1
}

// Enter adds entries to the log on disk. Either all are there afterwards or none.
func (f *Folder) Enter(entries ...Entry) error {
	var text bytes.Buffer
	encoder := json.NewEncoder(&text)
	encoder.SetEscapeHTML(false)
	for i := range entries {
		if err := entries[i].Check(); err != nil {
			return err
		}
		if err := encoder.Encode(&entries[i]); err != nil {
			return err
		}
	}
	file, err := f.root.OpenFile(LogFile, os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o640)
	if err != nil {
		return err
	}
	if _, err := file.Write(text.Bytes()); err != nil {
		_ = file.Close()
		return err
	}
	f.Log = append(f.Log, entries...)
	return file.Close()
}

// Rewrite writes the assignment again, after its rules or rubric have changed.
func (f *Folder) Rewrite() error {
	for name, source := range map[string]request.Source{RulesFile: f.OwnRules, RubricFile: f.OwnRubric} {
		if source.Text != "" {
			continue
		}
		// One that is named takes the place of one's own, which would win as long as it is there.
		if err := f.root.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return writeAssignment(f.root, f.Assignment)
}

// Forget deletes the work of a reference and all that came of it. The log keeps its
// entries under another reference, which leads nowhere.
func (f *Folder) Forget(reference, by string, now time.Time) error {
	removed := 0
	for _, folder := range []string{HandInsFolder, MarksFolder} {
		err := fs.WalkDir(f.root.FS(), folder, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				if errors.Is(err, fs.ErrNotExist) {
					return nil
				}
				return err
			}
			// What sums up the class names references too: it is made again.
			name, _, _ := strings.Cut(d.Name(), ".")
			if of, _ := FromName(name); of == reference || folder == MarksFolder && filepath.Dir(path) == MarksFolder {
				removed++
				return f.root.Remove(path)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	nowhere := "forgotten-" + NewID()
	for i := range f.Log {
		if f.Log[i].Reference == reference {
			f.Log[i].Reference = nowhere
		}
	}
	entries := append(slices.Clone(f.Log), Entry{At: now, By: by, Do: Forget, Reference: nowhere})
	if err := f.root.WriteFile(LogFile, nil, 0o640); err != nil {
		return err
	}
	f.Log = nil
	if err := f.Enter(entries...); err != nil {
		return err
	}
	if removed == 0 {
		return fmt.Errorf("nothing was handed in under the reference %q", reference)
	}
	return nil
}
