package main

import "runtime/debug"

// release is set by the linker: -X main.release=v1.2.3.
var release string

// version returns the release, or the revision of a build from a work tree.
func version() string {
	if release != "" {
		return release
	}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unreleased"
	}
	revision, dirty := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			revision = "-" + s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			dirty = "-changed"
		}
	}
	return "unreleased" + revision + dirty
}
