package command

import (
	"fmt"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker"
)

// answers is what becomes of checked scores, whether they were checked at once or
// durably: files in the folder for answers, and sums over all scores.
type answers struct {
	*sweep
	statistics worker.HarmonyStatistics
	failOn     partwriting.Severity
	summary    worker.Summary
}

func newAnswers(cmd *cobra.Command, f *checkFlags, paths []string) (*answers, error) {
	failOn, err := severityNamed("fail-on", f.failOn)
	if err != nil {
		return nil, err
	}
	s, err := newSweep(cmd, f, paths)
	return &answers{sweep: s, failOn: failOn}, err
}

func severityNamed(flag, word string) (partwriting.Severity, error) {
	if word == "" {
		return partwriting.Off, nil
	}
	if s, ok := partwriting.SeverityByName(word); ok && s != partwriting.Off {
		return s, nil
	}
	return partwriting.Off, fmt.Errorf("--%s %s: say fault, caution or remark", flag, word)
}

// form makes one file.
type form struct {
	ending string
	make   func() ([]byte, error)
}

func filesOf(forms []form) ([]worker.File, error) {
	files := make([]worker.File, 0, len(forms))
	for _, f := range forms {
		data, err := f.make()
		if err != nil {
			return nil, err
		}
		files = append(files, worker.File{Ending: f.ending, Data: data})
	}
	return files, nil
}

// fileStatistics writes what the analyses of all scores come to.
func (a *answers) fileStatistics() error {
	if !a.flags.analysis || a.dir == nil {
		return nil
	}
	files, err := a.statistics.Files()
	if err == nil {
		err = a.dir.WriteFiles("statistics", files)
	}
	if err != nil {
		return &status{exitUnreadable, fmt.Errorf("the statistics could not be written: %w", err)}
	}
	return nil
}

// conclude says what the whole run came to.
func (a *answers) conclude() error {
	a.tell("%s: %s, %s, %s", a.tally(),
		count(a.summary.Faults, "fault"), count(a.summary.Cautions, "caution"), count(a.summary.Remarks, "remark"))
	if a.unreadable == 0 && a.failOn != partwriting.Off && a.summary.AtLeast(a.failOn) > 0 {
		return &status{code: exitFound}
	}
	return a.end()
}
