package command

import (
	"errors"

	"github.com/spf13/cobra"

	"partwright/worker"
)

// cleanAll takes earlier marks off every score among the paths.
func cleanAll(cmd *cobra.Command, f *checkFlags, paths []string) error {
	if f.out == "" {
		return errors.New("--clean writes files: name a folder for them with --out")
	}
	s, err := newSweep(cmd, f, paths)
	if err != nil {
		return err
	}
	defer s.close()
	take := func(item worker.Item, clean []byte) error {
		return s.dir.Write(s.dir.Claim(item.Place)+".clean"+worker.ScoreExtension(clean), clean)
	}
	ignore := func(*worker.Failure) error { return nil }
	if err := sweepOver(s, s.pool.Clean, take, ignore); err != nil {
		return err
	}
	s.tell("%s", s.tally())
	return s.end()
}
