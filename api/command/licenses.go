package command

import (
	_ "embed"
	"fmt"

	"github.com/spf13/cobra"
)

// The program as it is built for every system, so that the text is the same for all.
//go:generate sh -c "go run ../../.ci/notices >licenses.tmp && mv licenses.tmp licenses.txt"

//go:embed licenses.txt
var licenses string

func newLicenses() *cobra.Command {
	return &cobra.Command{
		Use:   "licenses",
		Short: "Print the licenses of the program and of all that is linked into it",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprint(cmd.OutOrStdout(), licenses)
			return err
		},
	}
}
