package command

import (
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func newManual() *cobra.Command {
	return &cobra.Command{
		Use:   "man DIR",
		Short: "Write the manual pages of all commands into a folder",
		Long: `Man writes a page for each command, such as partwright-check.1, to be read with
man -l FILE or put where man looks for pages, such as ~/.local/share/man/man1. Their
date is that of SOURCE_DATE_EPOCH, if it is set.`,
		Args: oneOf("folder"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o750); err != nil {
				return Failed(err)
			}
			root := cmd.Root()
			root.DisableAutoGenTag = true
			header := doc.GenManHeader{Section: "1", Source: "Partwright " + root.Version, Manual: "Partwright"}
			if err := doc.GenManTree(root, &header, args[0]); err != nil {
				return Failed(err)
			}
			return nil
		},
	}
}
