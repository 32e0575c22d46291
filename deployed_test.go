package main

import (
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"partwright/api/command"
)

// What deploy sets in the environment must be a flag of serve: a variable that
// nobody reads is a setting that is believed in.
func TestDeployedSettingsExist(t *testing.T) {
	known := map[string]bool{
		"PARTWRIGHT_VERSION": true, // the tag of the image
		"PARTWRIGHT_KEY":     true, // what load measurements authenticate with
	}
	serve, _, err := command.New(program()).Find([]string{"serve"})
	if err != nil {
		t.Fatal(err)
	}
	serve.Flags().VisitAll(func(f *pflag.Flag) { known[command.Variable(f.Name)] = true })
	setting := regexp.MustCompile(`\bPARTWRIGHT_[A-Z_]+`)
	found := 0
	folder := os.DirFS("deploy")
	err = fs.WalkDir(folder, ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		text, err := fs.ReadFile(folder, path)
		for _, name := range setting.FindAllString(string(text), -1) {
			found++
			if !known[name] {
				t.Errorf("deploy/%s sets %s, which is no flag of serve", path, name)
			}
		}
		return err
	})
	if err != nil || found < 5 {
		t.Errorf("%d settings, %v", found, err)
	}
}

// Without certificates in the image no https address is believed, and every webhook
// fails. That they serve is shown by .ci/alone.
func TestImageHasCertificates(t *testing.T) {
	_, image, found := strings.Cut(readText(t, "Dockerfile"), "\nFROM scratch\n")
	if !found || !regexp.MustCompile(`(?m)^COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/ca-certificates.crt$`).MatchString(image) {
		t.Error("the Dockerfile copies no certificates to where Go looks for them")
	}
}
