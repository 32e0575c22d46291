package markup

import (
	"math"

	"partwright/theory"
)

// The limits that hold where [Limits] gives none. The longest orchestral scores
// stay an order of magnitude below them.
const (
	DefaultBytes           = 64 << 20
	DefaultDepth           = 64
	DefaultElements        = 4_000_000
	DefaultAttributes      = 64
	DefaultTotalAttributes = 4_000_000
)

// maxNames bounds the distinct names of one document: a [Name] has 16 bits.
const maxNames = math.MaxUint16

// Limits bound what parsing one document may cost. A zero field means its
// default. They are checked while scanning; memory stays below Bytes plus 36
// bytes an element and 16 an attribute.
type Limits struct {
	// Bytes is the longest text, at most 2 GiB - 1 (offsets have 32 bits).
	Bytes int64
	// Depth is how deep elements may nest, Elements how many there may be.
	Depth, Elements int
	// Attributes bounds those of one element (at most 65,535), TotalAttributes
	// those of the document.
	Attributes, TotalAttributes int
	// Work is the budget that parsing draws on, and going through the tree; nil is
	// none.
	Work *theory.Work
}

func (l Limits) withDefaults() Limits {
	orDefault(&l.Bytes, DefaultBytes, math.MaxInt32)
	orDefault(&l.Depth, DefaultDepth, math.MaxInt32)
	orDefault(&l.Elements, DefaultElements, math.MaxInt32)
	orDefault(&l.Attributes, DefaultAttributes, math.MaxUint16)
	orDefault(&l.TotalAttributes, DefaultTotalAttributes, math.MaxInt32)
	return l
}

func orDefault[T int | int64](value *T, def, most T) {
	if *value <= 0 {
		*value = def
	}
	*value = min(*value, most)
}
