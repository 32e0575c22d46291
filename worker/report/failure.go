package report

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// Failure is the answer to a score that could not be checked.
type Failure struct {
	File string `json:"file"`
	// Code is a permanent word in kebab case, such as "no-root-element" or
	// "timeout".
	Code string `json:"code"`
	// Entry is the name inside a container.
	Entry   string `json:"entry,omitempty"`
	Part    string `json:"part,omitempty"`
	Measure string `json:"measure,omitempty"`
	Line    int    `json:"line,omitempty"`
	Column  int    `json:"column,omitempty"`
	// Problem is one sentence of fact, Advice one on what to do.
	Problem string `json:"problem"`
	Advice  string `json:"advice,omitempty"`
}

// Codes of failures that are no error of the score.
const (
	// CodeTimeout is for a score that took longer than it may.
	CodeTimeout = "timeout"
	// CodeMemory is for a score that needed more memory than it may take.
	CodeMemory = "memory"
	// CodeLost is for a score whose process ended before it was done.
	CodeLost = "lost"
	// CodeUnreachable is for an address that could not be read just now.
	CodeUnreachable = "unreachable"
	// CodeGone is for a score that is not where it was stored.
	CodeGone = "stored-document-gone"
	// CodeProgression is for a text that is no progression, CodeVoicing for a chord that no
	// voices can sing, CodeOption for an option that this score cannot meet.
	CodeProgression = "unreadable-progression"
	CodeVoicing     = "no-voicing"
	CodeOption      = "unusable-option"
	// CodeFault is for an error of the program.
	CodeFault = "fault"
)

// NewFailure says what an error of [worker.Engine.Check] means for the owner of a score.
func NewFailure(file string, err error) *Failure {
	var input *musicxml.InputError
	var settings *settings.Error
	var memory *theory.MemoryError
	var progression *voicing.ProgressionError
	var impossible *voicing.ImpossibleError
	var refused *stage.RequestError
	switch {
	case errors.As(err, &input):
		return &Failure{
			File: file, Code: input.Code, Entry: input.Entry, Part: input.Part, Measure: input.Measure,
			Line: input.Line, Column: input.Column, Problem: input.Problem, Advice: input.Advice,
		}
	case errors.As(err, &progression):
		return &Failure{File: file, Code: CodeProgression, Line: progression.Line, Problem: asSentence(progression.Problem)}
	case errors.As(err, &impossible):
		return &Failure{File: file, Code: CodeVoicing, Problem: asSentence(impossible.Error())}
	case errors.As(err, &refused):
		return &Failure{File: file, Code: CodeOption, Problem: asSentence(refused.Problem)}
	case errors.As(err, &settings):
		return &Failure{
			File: file, Code: "unreadable-" + strings.ReplaceAll(settings.What, " ", "-"), Problem: settings.Error() + ".",
			Advice: "Correct the file, or leave it out.",
		}
	case errors.Is(err, stage.ErrDeadline):
		return &Failure{
			File: file, Code: CodeTimeout, Problem: "The score took longer than the time it was given.",
			Advice: "Allow more time, or split the score.",
		}
	case errors.Is(err, stage.ErrLost):
		return &Failure{
			File: file, Code: CodeLost, Problem: "The process that worked on the score ended before it was done, each time it was begun.",
			Advice: "Try once more; if it happens again, split the score.",
		}
	case errors.As(err, &memory):
		return &Failure{
			File: file, Code: CodeMemory, Problem: fmt.Sprintf("The score needs more than the %d MB of memory it was given.", memory.Most>>20),
			Advice: "Split the score, or ask for less at once.",
		}
	case errors.Is(err, context.Canceled):
		return &Failure{File: file, Code: "canceled", Problem: "The run was stopped.", Advice: "Start it again."}
	}
	return &Failure{
		File: file, Code: CodeFault, Problem: fmt.Sprintf("This is an error of the program, not of the score: %v.", err),
		Advice: "Report it with the version, and with the score if it may be shared.",
	}
}

// asSentence ends a clause with a full stop.
func asSentence(clause string) string { return strings.TrimSuffix(clause, ".") + "." }

// Error returns one line: where, what, and what to do.
func (f *Failure) Error() string {
	return (&musicxml.InputError{
		File: f.File, Entry: f.Entry, Part: f.Part, Measure: f.Measure, Line: f.Line,
		Problem: f.Problem, Advice: f.Advice,
	}).Error()
}
