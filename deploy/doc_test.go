// Package deploy_test holds what is handed to operators to the service as it is:
// dashboards and alerts ask for metrics that exist, manifests for settings that
// exist, and the programs that read these files accept them.
package deploy_test

import (
	"os"
	"os/exec"
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
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("%s is not installed", program)
	}
	if out, err := exec.Command(program, args...).CombinedOutput(); err != nil { // #nosec G204 -- the tests' own words
		t.Errorf("%s %v: %v\n%s", program, args, err, out)
	}
}
