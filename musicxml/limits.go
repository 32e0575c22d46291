package musicxml

import (
	"partwright/musicxml/container"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Limits bound what reading may cost. A zero field means its default.
type Limits struct {
	// MaxBytes is the largest document, unpacked, in bytes (default 64 MiB).
	MaxBytes int64
	// MaxDepth is how deep elements may nest (default 64).
	MaxDepth int
	// MaxElements bounds a document's elements and, by itself, its attributes
	// (default 4 million of each), MaxAttributes those of one element (default
	// 64).
	MaxElements, MaxAttributes int
	// MaxEntries and MaxRatio bound a container: the number of entries (default
	// 1,000) and how many times larger it may unpack (default 200).
	MaxEntries, MaxRatio int
	// Work is the budget that reading draws on, and whatever is done with the score
	// after it; nil is none.
	Work *theory.Work `json:"-"`
}

// DefaultLimits returns the limits that hold where none are given.
func DefaultLimits() Limits {
	return Limits{
		MaxBytes: markup.DefaultBytes, MaxDepth: markup.DefaultDepth,
		MaxElements: markup.DefaultElements, MaxAttributes: markup.DefaultAttributes,
		MaxEntries: container.DefaultEntries, MaxRatio: container.DefaultRatio,
	}
}
