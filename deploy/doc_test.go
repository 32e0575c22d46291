// Package deploy_test holds what is handed to operators to the service as it is:
// dashboards and alerts ask for metrics that exist, manifests for settings that
// exist, and the programs that read these files accept them.
package deploy_test

import (
	"os"
	"testing"
)

func read(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name) // #nosec G304 -- a file of this folder
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// accepts fails the test if a program does not, and skips it where there is none.
func accepts(t *testing.T, program string, args ...string) {
	t.Helper()
	needs(t, program)
	run(t, program, args...)
}
