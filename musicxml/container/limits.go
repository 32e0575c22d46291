package container

// The limits that hold where [Limits] gives none. Chorales in open score pack
// 25 to 1, long scores for orchestra rarely more than 60 to 1.
const (
	DefaultBytes   = 64 << 20
	DefaultEntries = 1000
	DefaultRatio   = 200
)

// Limits bound what unpacking may cost. A zero field means its default.
type Limits struct {
	// Bytes is the largest unpacked size of one entry.
	Bytes int64
	// Entries is how many entries there may be, Ratio how many times its packed
	// size an entry larger than 1 MiB may unpack to.
	Entries, Ratio int
}

func (l Limits) withDefaults() Limits {
	if l.Bytes <= 0 {
		l.Bytes = DefaultBytes
	}
	if l.Entries <= 0 {
		l.Entries = DefaultEntries
	}
	if l.Ratio <= 0 {
		l.Ratio = DefaultRatio
	}
	return l
}
