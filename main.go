// Command partwright checks part-writing: it reads MusicXML scores, finds their
// voices, says where they break the conventions of four-part and keyboard
// harmony, and writes the score back with the remarks in it.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
)

// Exit statuses, as the README promises them.
const (
	exitDone       = 0
	exitUnreadable = 1
	exitWrongUse   = 2
	exitFound      = 3
)

// status is an error that ends the program with a status of its own. Everything
// else that a command returns is wrong use.
type status struct {
	code int
	err  error
}

func (s *status) Error() string {
	if s.err == nil {
		return ""
	}
	return s.err.Error()
}

func (s *status) Unwrap() error { return s.err }

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

func run(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	// Whoever asks twice does not want to wait for what runs.
	context.AfterFunc(ctx, func() { signal.Reset(os.Interrupt) })
	root := newRoot()
	root.SetArgs(args)
	root.SetIn(stdin)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	if err == nil {
		return exitDone
	}
	if text := err.Error(); text != "" {
		// PostgreSQL's driver says one address a line.
		fmt.Fprintf(stderr, "partwright: %s\n", strings.ReplaceAll(text, "\n\t", " "))
	}
	var s *status
	if errors.As(err, &s) {
		return s.code
	}
	return exitWrongUse
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:   "partwright",
		Short: "Check the part-writing of scores and mark them",
		Long: `Partwright reads MusicXML scores (.musicxml, .xml, .mxl), finds their voices,
checks how the voices move and meet, and says what it found: as a table, as JSON
or CSV, or as marks in the score itself.

What it finds is advice. The teacher decides.`,
		SilenceErrors: true,
		SilenceUsage:  true,
		PersistentPreRunE: func(cmd *cobra.Command, args []string) error {
			if err := fromEnvironment(cmd, args); err != nil {
				return err
			}
			return noneNegative(cmd)
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			fmt.Fprintln(cmd.ErrOrStderr(), cmd.UsageString())
			return errors.New("name a command, such as: partwright check exercise.musicxml")
		},
	}
	root.AddCommand(newCheck(), newBatch(), newVoice(), newContinue(), newMend(), newServe(), newOrganizations(), newKeys(), newRules(), newHealthcheck(), newVersion())
	return root
}
