package partwriting

import "embed"

// Code is this package as it is written, for its fingerprint.
//
//go:embed *.go catalog/*.json
var Code embed.FS
