package harmony

import "embed"

// Code is this package as it is written, for its fingerprint.
//
//go:embed *.go *.tsv *.bin
var Code embed.FS
