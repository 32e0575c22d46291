package command

import (
	"errors"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker/request"
)

// cleanAll takes earlier marks off every score among the paths.
func cleanAll(cmd *cobra.Command, f *scoreFlags, paths []string) error {
	if f.out == "" {
		return errors.New("--clean writes files: name a folder for them with --out")
	}
	s, err := openScores(cmd, f, paths)
	if err != nil {
		return err
	}
	defer s.close()
	t, err := s.answerAll(cmd.Context(), "cleaning", &request.CleanPlan{}, silent{})
	if err != nil {
		return err
	}
	s.console.inform("%s", counted(&t.counts))
	return t.exit(partwriting.Off)
}
