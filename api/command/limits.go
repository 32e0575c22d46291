package command

import (
	"github.com/spf13/pflag"

	"partwright/musicxml"
	"partwright/musicxml/archive"
)

// addLimits adds the flags that bound what one score may cost.
func addLimits(flags *pflag.FlagSet, l *musicxml.Limits) {
	*l = musicxml.DefaultLimits()
	flags.Int64Var(&l.MaxBytes, "max-bytes", l.MaxBytes, "largest score, unpacked, in bytes")
	flags.IntVar(&l.MaxDepth, "max-depth", l.MaxDepth, "how deep the elements of a score may nest")
	flags.IntVar(&l.MaxElements, "max-elements", l.MaxElements, "most elements in a score")
	flags.IntVar(&l.MaxAttributes, "max-attributes", l.MaxAttributes, "most attributes on one element")
	flags.IntVar(&l.MaxEntries, "max-entries", l.MaxEntries, "most entries in a .mxl container")
	flags.IntVar(&l.MaxRatio, "max-ratio", l.MaxRatio, "how many times its packed size a container may unpack to")
}

// addArchiveLimits adds those that bound a whole archive. Its members keep to the
// limits of scores.
func addArchiveLimits(flags *pflag.FlagSet, l *archive.Limits) {
	flags.Int64Var(&l.Total, "max-archive-bytes", archive.DefaultTotal, "largest archive, unpacked, in bytes")
	flags.IntVar(&l.Entries, "max-archive-entries", archive.DefaultEntries, "most entries in one archive")
}
