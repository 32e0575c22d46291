package api

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"strconv"
	"strings"
	"syscall"

	"partwright/api/webhook"
	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
	"partwright/worker/store"
)

// area is where an error arises; some errors mean different things in different
// places.
type area uint8

const (
	everywhere area = iota
	inBatches
	inWebhooks
	inClasses
)

// areaError is an error with the place where it arose.
type areaError struct {
	area area
	error
}

// Unwrap returns the error itself.
func (e *areaError) Unwrap() error { return e.error }

// of marks an error as one from this area; nil stays nil.
func (s area) of(err error) error {
	if err == nil {
		return nil
	}
	return &areaError{s, err}
}

// errorRow is one row of the table of errors: the errors that it is for, and the
// problem that they are for a client.
type errorRow struct {
	area  area
	match func(error) bool
	kind  *kind
	// detail says what went wrong; "" stands for the meaning of the kind.
	detail string
	// describe adds what the error itself says; nil for nothing.
	describe func(error, *Problem)
	// keptInForm is for errors that mean the same while a form is read. Any other
	// error that ends a form is a fault of the form.
	keptInForm bool
}

// errorRows is the table of errors: the one place where errors become statuses. The
// first row that matches counts. An error that has no row is a fault of the service,
// and its text is not shown.
var errorRows = []errorRow{
	{area: inBatches, match: is(store.ErrNotFound), kind: notFound, detail: "There is no such batch, or no such score in it."},
	{area: inBatches, match: is(batch.ErrDeleted), kind: notFound,
		detail: "The batch that was made with this Idempotency-Key has been deleted. Use another key to make it again."},
	{area: inBatches, match: is(batch.ErrGivenUp), kind: wrongState,
		detail: "The batch was deleted while its scores came: by a client, or because this service had lost its database. Send them again."},
	{area: inBatches, match: is(store.ErrKeyReused), kind: keyReused},
	{area: inBatches, match: is(batch.ErrInProgress), kind: keyInProgress},
	{area: inBatches, match: is(batch.ErrClosed), kind: batchClosed},
	{area: inBatches, match: is(batch.ErrState), kind: wrongState},
	{area: inBatches, match: as[*batch.CatalogueError], kind: invalidRequest, describe: detailOf((*batch.CatalogueError).Error)},

	{area: inWebhooks, match: is(store.ErrNotFound), kind: notFound, detail: "There is no such webhook, or no such delivery to it."},
	{area: inWebhooks, match: as[*webhook.URLError], kind: unusableAddress, describe: detailOf((*webhook.URLError).Error)},
	{area: inWebhooks, match: is(webhook.ErrTooMany), kind: tooManyWebhooks, describe: detailOf(error.Error)},
	{area: inWebhooks, match: is(webhook.ErrWaiting), kind: deliveryWaits},

	{area: inClasses, match: is(store.ErrNotFound), kind: notFound, detail: "There is no such assignment, or nothing was handed in to it under that reference."},
	{area: inClasses, match: is(classbook.ErrClosed, classbook.ErrTooMany), kind: workNotTaken, describe: detailOf(error.Error)},
	{area: inClasses, match: is(classbook.ErrLastTeacher), kind: lastTeacher},
	{area: inClasses, match: is(store.ErrKeyReused), kind: keyReused},
	{area: inClasses, match: is(classbook.ErrNotShown), kind: notShown},
	{area: inClasses, match: is(store.ErrMeanwhile), kind: decidedMeanwhile},
	{area: inClasses, match: is(classbook.ErrOtherChanges), kind: decidedMeanwhile,
		detail: "What marking again would change is not what was shown: something was handed in or decided since. Ask without confirm what it is now."},
	{area: inClasses, match: as[*classbook.InvalidError], kind: invalidRequest, describe: detailOf((*classbook.InvalidError).Error)},
	{area: inClasses, match: as[*classroom.FieldError], kind: invalidRequest, describe: detailOf((*classroom.FieldError).Error)},
	{area: inClasses, match: as[*classroom.UnsolvableError], kind: unsolvable, describe: detailOf((*classroom.UnsolvableError).Error)},

	{match: when(func(e *musicxml.InputError) bool { return e.Code == musicxml.CodeLimit }), kind: limitExceeded, describe: describeInput},
	{match: as[*musicxml.InputError], kind: unreadableScore, describe: describeInput},

	{match: settingsFile(settings.RubricFile), kind: unreadableRubric, describe: describeSettings},
	{match: settingsFile(settings.LabelsFile), kind: unreadableLabels, describe: describeSettings},
	{match: settingsFile(settings.CostsFile), kind: unreadableCosts, describe: describeSettings},
	{match: as[*settings.Error], kind: unreadableRuleSet, describe: describeSettings},

	{match: inField(is(request.ErrBoth)), kind: invalidRequest, describe: describeBoth},
	{match: inField(is(request.ErrLanguage)), kind: unknownLanguage},
	{match: unknownChoice("rule_set"), kind: unknownRuleSet},
	{match: unknownChoice("rubric"), kind: unknownRubric},
	{area: inBatches, match: as[*request.Error], kind: unusableOption, describe: describeField},
	{match: as[*request.Error], kind: invalidRequest, describe: describeField},

	{match: as[*worker.RequestError], kind: invalidRequest, describe: detailOf((*worker.RequestError).Error)},
	{match: as[*voicing.ProgressionError], kind: unreadableProgression, describe: describeProgression},
	{match: as[*voicing.ImpossibleError], kind: noVoicing, describe: describeImpossible},

	{match: as[*store.QuotaError], kind: quotaReached, describe: detailOf((*store.QuotaError).Error)},
	{match: as[*http.MaxBytesError], kind: uploadTooLarge, describe: describeLarge, keptInForm: true},
	{match: is(store.ErrFull, syscall.ENOSPC), kind: diskFull},
	{match: is(store.ErrDown), kind: databaseDown},
	{match: is(store.ErrBlobs), kind: blobsDown},
	{match: is(store.ErrBlobGone), kind: blobGone},
	{match: is(stage.ErrDeadline), kind: timeLimit},
	{match: is(stage.ErrLost), kind: workLost},
	{match: as[*theory.MemoryError], kind: memoryLimit, describe: detailOf((*theory.MemoryError).Error)},
	{match: is(pool.ErrBusy), kind: busy},
	{match: is(errUploadMemory), kind: busy, keptInForm: true},
	{match: is(pool.ErrDraining), kind: shuttingDown, keptInForm: true},
	{match: is(os.ErrDeadlineExceeded), kind: uploadTimeout, keptInForm: true},
	{match: is(io.ErrUnexpectedEOF), kind: incompleteUpload},
	{match: is(multipart.ErrMessageTooLarge), kind: malformedForm, detail: "The headers of its parts are too long."},
}

// rowOf returns the row of an error, nil for none.
func rowOf(err error) *errorRow {
	area := everywhere
	var placed *areaError
	if errors.As(err, &placed) {
		area = placed.area
	}
	for i := range errorRows {
		row := &errorRows[i]
		if (row.area == everywhere || row.area == area) && row.match(err) {
			return row
		}
	}
	return nil
}

// problemOf says what an error means for a client.
func problemOf(err error) Problem {
	var refused *refusal
	if errors.As(err, &refused) {
		return refused.problem()
	}
	if p, ok := ltiProblem(err); ok {
		return p
	}
	row := rowOf(err)
	if row == nil {
		return newProblem(internalError, "")
	}
	p := newProblem(row.kind, row.detail)
	if row.describe != nil {
		row.describe(err, &p)
	}
	return p
}

// formError says what an error means that ends the reading of a form.
func formError(err error) error {
	if errors.As(err, new(*refusal)) {
		return err
	}
	for i := range errorRows {
		if errorRows[i].keptInForm && errorRows[i].match(err) {
			return err
		}
	}
	return refuse(malformedForm, "The form ended early or is not well-formed.")
}

// failureKinds are the kinds of the failures of stored scores by their code. Any
// other code is a reason why a score cannot be read.
var failureKinds = map[string]*kind{
	musicxml.CodeLimit: limitExceeded, report.CodeTimeout: timeLimit, report.CodeMemory: memoryLimit, report.CodeLost: workLost, report.CodeFault: internalError,
	report.CodeGone: blobGone, report.CodeProgression: unreadableProgression, report.CodeVoicing: noVoicing, report.CodeOption: unusableOption,
}

func kindOfFailure(f *report.Failure) *kind {
	if k, ok := failureKinds[f.Code]; ok {
		return k
	}
	return unreadableScore
}

// is matches the errors that wrap one of those given.
func is(targets ...error) func(error) bool {
	return func(err error) bool {
		for _, target := range targets {
			if errors.Is(err, target) {
				return true
			}
		}
		return false
	}
}

// as matches the errors that wrap one of a type.
func as[E error](err error) bool {
	_, ok := errors.AsType[E](err)
	return ok
}

// when matches the errors that wrap one of a type for which a condition holds.
func when[E error](holds func(E) bool) func(error) bool {
	return func(err error) bool {
		e, ok := errors.AsType[E](err)
		return ok && holds(e)
	}
}

// settingsFile matches the errors of a file that should hold one thing.
func settingsFile(what string) func(error) bool {
	return when(func(e *settings.Error) bool { return e.What == what })
}

// inField matches the errors of a field of a request that match in a further way.
func inField(match func(error) bool) func(error) bool {
	return when(func(e *request.Error) bool { return match(e) })
}

// unknownChoice matches the errors of a field whose value is none of its choices.
func unknownChoice(name string) func(error) bool {
	return when(func(e *request.Error) bool { return e.Field == name && as[*request.ChoiceError](e) })
}

// described makes a description of an error of one type; its row has matched the type.
func described[E error](describe func(E, *Problem)) func(error, *Problem) {
	return func(err error, p *Problem) {
		if e, ok := errors.AsType[E](err); ok {
			describe(e, p)
		}
	}
}

// detailOf makes the text of an error the detail of its problem.
func detailOf[E error](text func(E) string) func(error, *Problem) {
	return described(func(e E, p *Problem) { p.Detail = sentence(text(e)) })
}

var describeInput = described(func(e *musicxml.InputError, p *Problem) {
	p.Code = e.Code
	p.Detail, p.Advice = cmp.Or(e.Problem, p.Detail), cmp.Or(e.Advice, p.Advice)
	p.File, p.Entry, p.Part, p.Measure, p.Line, p.Column = e.File, e.Entry, e.Part, e.Measure, e.Line, e.Column
})

var describeSettings = described(func(e *settings.Error, p *Problem) {
	p.Detail, p.File = cmp.Or(e.Error(), p.Detail), e.File
	if len(e.Lines) > 0 {
		p.Line = e.Lines[0].Line
	}
})

var describeBoth = described(func(e *request.Error, p *Problem) {
	noun := strings.ReplaceAll(strings.TrimPrefix(e.Field, "own_"), "_", " ")
	p.Detail = "There is a " + noun + " by name and one of your own; only one can apply."
})

var describeField = described(func(e *request.Error, p *Problem) {
	p.Detail = fmt.Sprintf("The option %s cannot be met: %v.", e.Field, e.Err)
})

var describeProgression = described(func(e *voicing.ProgressionError, p *Problem) {
	p.Detail, p.Line = sentence(e.Problem), e.Line
})

var describeImpossible = described(func(e *voicing.ImpossibleError, p *Problem) {
	p.Detail, p.Chord = sentence(e.Error()), e.Slot+1
})

var describeLarge = described(func(e *http.MaxBytesError, p *Problem) {
	p.Detail = "The body is larger than " + strconv.FormatInt(e.Limit, 10) + " bytes."
})
