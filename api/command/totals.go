package command

import (
	"fmt"

	"partwright/theory/partwriting"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/report"
)

// totals are what a run over many scores comes to.
type totals struct {
	counts     files.Counts
	summary    report.Summary
	statistics report.HarmonyStatistics
}

// add adds an answer.
func (t *totals) add(a *answer.Answer) {
	if r, ok := a.Report.(*report.Report); ok {
		t.summary.Add(&r.Summary)
	}
	if a.Statistics != nil {
		t.statistics.Merge(a.Statistics)
	}
}

// writeStatistics writes what the analyses of all scores come to.
func (t *totals) writeStatistics(dir *files.OutDir) error {
	statistics, err := answer.StatisticsFiles(&t.statistics)
	if err == nil {
		err = dir.WriteFiles(answer.HarmonyStatistics, statistics)
	}
	if err != nil {
		return Failed(fmt.Errorf("the statistics could not be written: %w", err))
	}
	return nil
}

// print says what the whole run came to, the last line of all.
func (t *totals) print(c *console) {
	c.inform("%s: %s, %s, %s", counted(&t.counts),
		count(t.summary.Faults, "fault"), count(t.summary.Cautions, "caution"), count(t.summary.Remarks, "remark"))
}

// exit is the status of the run. With failOn, findings as grave as that count.
func (t *totals) exit(failOn partwriting.Severity) error {
	switch {
	case t.counts.Unreadable > 0:
		return &status{code: exitUnreadable}
	case failOn != partwriting.Off && t.summary.AtLeast(failOn) > 0:
		return &status{code: exitFound}
	}
	return nil
}

// counted says how many scores were read, and what was not.
func counted(c *files.Counts) string {
	text := count(c.Read, "score") + " read"
	if c.Unreadable > 0 {
		text += fmt.Sprintf(", %d unreadable", c.Unreadable)
	}
	if c.Skipped > 0 {
		text += ", " + count(c.Skipped, "file") + " skipped"
	}
	return text
}

// count puts a number before a word: "1 score", "2 scores".
func count(n int, word string) string {
	if n != 1 {
		word += "s"
	}
	return fmt.Sprintf("%d %s", n, word)
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
