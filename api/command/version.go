package command

import (
	"fmt"
	"runtime"

	"github.com/spf13/cobra"

	"partwright/worker"
)

func newVersion() *cobra.Command {
	var parts bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Long: `Version prints the version.

With --parts it also prints a fingerprint of each part that a report stands on, every
rule by itself. Where two versions print the same, that part is written alike in both.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			text := versionLine(cmd.Root().Version)
			if parts {
				for _, p := range worker.Parts() {
					text += p.Fingerprint + "  " + p.Name + "\n"
				}
			}
			_, err := fmt.Fprint(cmd.OutOrStdout(), text)
			return err
		},
	}
	cmd.Flags().BoolVar(&parts, "parts", false, "also print the fingerprints of the parts of the engine")
	return cmd
}

func versionLine(version string) string {
	return fmt.Sprintf("partwright %s (%s %s/%s)\n", version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
