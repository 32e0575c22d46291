package command

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestEveryLinkedModuleHasItsLicense asks the go command what releases link: a library
// that is added or updated needs "go generate ./api/command".
func TestEveryLinkedModuleHasItsLicense(t *testing.T) {
	for _, system := range []string{"linux", "darwin", "windows"} {
		cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{if not .Main}}{{.Path}} {{.Version}}{{end}}{{end}}", "../..") // #nosec G204 -- the test's own words
		cmd.Env = append(cmd.Environ(), "GOOS="+system, "GOARCH=amd64", "CGO_ENABLED=0")
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		modules := map[string]bool{}
		for _, module := range strings.Split(strings.TrimSpace(string(out)), "\n") {
			modules[module] = true
		}
		if len(modules) < 20 {
			t.Fatalf("go list names %d modules: %s", len(modules), out)
		}
		for module := range modules {
			if module != "" && !strings.Contains(licenses, "\n"+module+" (") {
				t.Errorf("licenses.txt has nothing of %s, which releases for %s link: go generate ./api/command", module, system)
			}
		}
	}
}

// The terms of those licenses: notices of Apache's go along, the tables name their
// authors and terms, the text of each license is there.
func TestLicensesHoldWhatTheyMust(t *testing.T) {
	for _, text := range []string{
		"Apache License\n", "Version 2.0, January 2004", "Mozilla Public License", "Permission is hereby granted, free of charge",
		"Redistribution and use in source and binary forms", "theory/harmony/counts.tsv", "theory/harmony/weights.tsv",
		"When in Rome", "https://creativecommons.org/licenses/by-sa/4.0", "Go's standard library (LICENSE)",
		"The Prometheus Authors", // the NOTICE of a linked module
		"The engraver of the page (LGPL-3.0.txt)", "GNU LESSER GENERAL PUBLIC LICENSE", "GNU GENERAL PUBLIC LICENSE", "SIL OPEN FONT LICENSE",
		"https://github.com/rism-digital/verovio, tag", // where its source is
	} {
		if !strings.Contains(licenses, text) {
			t.Errorf("licenses.txt lacks %q", text)
		}
	}
}

// Tables that were made of a dataset stay under its terms, wherever one is added.
func TestEveryTableHasItsTerms(t *testing.T) {
	found := 0
	for _, pattern := range []string{"theory/harmony/*.tsv", "theory/harmony/*.bin", "worker/fitharmony/*.tsv"} {
		tables, err := filepath.Glob(filepath.Join("../..", pattern))
		if err != nil {
			t.Fatal(err)
		}
		for _, table := range tables {
			name, _ := filepath.Rel("../..", table)
			if found++; !strings.Contains(licenses, "\n    "+filepath.ToSlash(name)+" ") {
				t.Errorf("NOTICE does not name %s; afterwards, go generate ./api/command", name)
			}
		}
	}
	if found < 2 {
		t.Errorf("there are %d tables; the patterns no longer find them", found)
	}
}
