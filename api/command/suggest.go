package command

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/worker/spelling"
)

// suggestFlag adds to the error of an unknown flag which one may have been meant.
func suggestFlag(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if !errors.As(err, &unknown) || unknown.GetSpecifiedShortnames() != "" {
		return err
	}
	var names []string
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			names = append(names, f.Name)
		}
	})
	if name := spelling.Nearest(unknown.GetSpecifiedName(), names); name != "" {
		return fmt.Errorf("%w, did you mean --%s?", err, name)
	}
	return err
}

// onlyCommands refuses arguments of a command that has only commands of its own.
func onlyCommands(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	var names []string
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			names = append(names, sub.Name())
		}
	}
	return fmt.Errorf("unknown command %q for %q%s", args[0], cmd.CommandPath(), spelling.DidYouMean(args[0], names))
}

// unknownName is the error of a name that nothing has: with the one that is near, or with
// what else to do.
func unknownName(what, name string, names []string, advice string) error {
	if near := spelling.DidYouMean(name, names); near != "" {
		return fmt.Errorf("there is no %s %q%s", what, name, near)
	}
	return fmt.Errorf("there is no %s %q: %s", what, name, advice)
}
