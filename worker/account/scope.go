package account

import (
	"fmt"
	"slices"
	"strings"
)

// Scope is something that a key may do. The names are permanent.
type Scope string

// The scopes.
const (
	// Scores is work on one score, answered at once.
	Scores Scope = "scores"
	// ReadBatches shows batches and their results.
	ReadBatches Scope = "read-batches"
	// WriteBatches makes, changes and deletes them.
	WriteBatches Scope = "write-batches"
	// Webhooks manages where events are sent.
	Webhooks Scope = "webhooks"
	// Classes is what a teacher does: assignments, decisions, marks, reports, of the
	// assignments that are given to them.
	Classes Scope = "classes"
	// AllClasses, beside Classes, extends it to all assignments of the organization.
	AllClasses Scope = "all-classes"
	// HandIns is what a pupil does: hand in, and see what became of it.
	HandIns Scope = "hand-ins"
)

// Scopes lists all scopes.
var Scopes = []Scope{Scores, ReadBatches, WriteBatches, Webhooks, Classes, AllClasses, HandIns}

// ParseScopes reads scopes by name; an error names what is no scope, or says that
// there is none.
func ParseScopes(names []string) ([]Scope, error) {
	var scopes []Scope
	for _, name := range names {
		if !slices.Contains(Scopes, Scope(name)) {
			return nil, fmt.Errorf("there is no scope %q: say one or more of %s", name, strings.Join(ScopeNames(Scopes), ", "))
		}
		if !slices.Contains(scopes, Scope(name)) {
			scopes = append(scopes, Scope(name))
		}
	}
	if len(scopes) == 0 {
		return nil, fmt.Errorf("a key without a scope is of no use: say one or more of %s", strings.Join(ScopeNames(Scopes), ", "))
	}
	return scopes, nil
}

// ScopeNames is the inverse of [ParseScopes].
func ScopeNames(scopes []Scope) []string {
	names := make([]string, len(scopes))
	for i, s := range scopes {
		names[i] = string(s)
	}
	return names
}
