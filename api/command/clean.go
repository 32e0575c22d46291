package command

import (
	"errors"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker/files"
	"partwright/worker/report"
)

// cleanAll takes earlier marks off every score among the paths.
func cleanAll(cmd *cobra.Command, f *checkFlags, paths []string) error {
	if f.out == "" {
		return errors.New("--clean writes files: name a folder for them with --out")
	}
	s, err := openScores(cmd, f, paths)
	if err != nil {
		return err
	}
	defer s.close()
	write := func(item files.Item, clean []byte) error {
		return s.out.Write(s.out.Claim(item.Place)+".clean"+files.ScoreExtension(clean), clean)
	}
	ignore := func(*report.Failure) error { return nil }
	var t totals
	if t.counts, err = forEach(cmd.Context(), s, s.pool.Clean, write, ignore); err != nil {
		return err
	}
	s.console.inform("%s", counted(&t.counts))
	return t.exit(partwriting.Off)
}
