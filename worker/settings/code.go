package settings

import "embed"

// Code is this package as it is written, for its fingerprint.
//
//go:embed *.go
var Code embed.FS
