package musicxml

import (
	"errors"

	"partwright/musicxml/archive"
)

// ArchiveError says why a member of an archive, or the rest of it, could not be
// taken out, as [Read] says it of a score.
func ArchiveError(name string, err error) *InputError {
	e := &InputError{Code: "archive", File: name, Problem: sentence(err.Error())}
	var at *archive.Error
	if errors.As(err, &at) {
		e.Problem, e.Advice = sentence(at.Problem), sentence(at.Advice)
	}
	if errors.Is(err, archive.ErrLimit) {
		e.Code = "limit"
	}
	return e
}
