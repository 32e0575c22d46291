// Package command is the command line: one command a file, named after it.
//
// Begin with [Run]. A command binds its flags, calls the worker, and prints; what a
// service is made of is wired by whoever calls Run.
package command

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

// Failed makes an error one of the files or the machine, not of the way in which the
// program was called: it ends with status 1.
func Failed(err error) error { return &status{exitUnreadable, err} }

// Program is what the commands need of the program that they are part of.
type Program struct {
	// Version names the release.
	Version string
	// Serve runs the service until its context ends.
	Serve func(context.Context, *ServeConfig) error
}

// Run does what the arguments ask for and returns the exit status.
func Run(p Program, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	// Whoever asks twice does not want to wait for what runs.
	context.AfterFunc(ctx, func() { signal.Reset(os.Interrupt) })
	root := New(p)
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

// New returns the tree of commands.
func New(p Program) *cobra.Command {
	root := &cobra.Command{
		Use:     "partwright",
		Version: p.Version,
		Short:   "Check the part-writing of scores and mark them",
		Long: `Partwright reads MusicXML scores (.musicxml, .xml, .mxl), finds their voices,
checks how the voices move and meet, and says what it found: as a table, as JSON
or CSV, or as marks in the score itself.

What it finds is advice. The teacher decides.`,
		Args:          onlyCommands,
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
	root.AddCommand(newCheck(), newBatch(), newStream(), newShard(), newAddresses(), newFind(), newCompare(), newVoice(), newContinue(), newMend(), newClass(), newServe(p.Serve), newOrganizations(), newKeys(), newLTI(), newRules(), newHealthcheck(), newManual(), newVersion(), newLicenses())
	root.SetFlagErrorFunc(suggestFlag)
	completeAll(root)
	// The flag --version prints what the command does.
	root.SetVersionTemplate(versionLine(p.Version))
	root.InitDefaultVersionFlag()
	markCommandLineOnly(root.Flags()) // PARTWRIGHT_VERSION is the tag of an image
	return root
}
