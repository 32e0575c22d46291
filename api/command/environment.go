package command

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// commandLineOnly marks a flag that is read from the command line alone: it says what is to be
// done now, and a variable of that name is there for the service.
const commandLineOnly = "command-line-only"

// markCommandLineOnly marks all flags so far.
func markCommandLineOnly(flags *pflag.FlagSet) {
	flags.VisitAll(func(f *pflag.Flag) { _ = flags.SetAnnotation(f.Name, commandLineOnly, nil) })
}

// fromEnvironment gives each flag that is not on the command line the value of
// its variable, if that is not empty: PARTWRIGHT_MAX_BYTES for --max-bytes.
func fromEnvironment(cmd *cobra.Command, _ []string) error {
	var failed error
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		value := os.Getenv(Variable(f.Name))
		_, only := f.Annotations[commandLineOnly]
		if value == "" || f.Changed || failed != nil || only || f.Name == "help" {
			return
		}
		if err := cmd.Flags().Set(f.Name, value); err != nil {
			failed = fmt.Errorf("the environment variable %s: %w", Variable(f.Name), err)
		}
	})
	return failed
}

// noneNegative refuses negative numbers: no flag counts or lasts less than nothing,
// and some would take it for their default.
func noneNegative(cmd *cobra.Command) error {
	var failed error
	cmd.Flags().Visit(func(f *pflag.Flag) {
		switch f.Value.Type() {
		case "int", "int64", "duration", "float64":
			if strings.HasPrefix(f.Value.String(), "-") {
				failed = fmt.Errorf("--%s %s: it must not be negative", f.Name, f.Value)
			}
		}
	})
	return failed
}

// unknownVariables are those that look like a flag's and are no flag's of any command.
func unknownVariables(root *cobra.Command, environ []string) []string {
	known := map[string]bool{}
	var learn func(*cobra.Command)
	learn = func(cmd *cobra.Command) {
		cmd.Flags().VisitAll(func(f *pflag.Flag) { known[Variable(f.Name)] = true })
		for _, sub := range cmd.Commands() {
			learn(sub)
		}
	}
	learn(root)
	var unknown []string
	for _, setting := range environ {
		name, value, _ := strings.Cut(setting, "=")
		if strings.HasPrefix(name, Variable("")) && value != "" && !known[name] {
			unknown = append(unknown, name)
		}
	}
	return unknown
}

// Variable is the name of a flag in the environment.
func Variable(flag string) string {
	return "PARTWRIGHT_" + strings.ToUpper(strings.ReplaceAll(flag, "-", "_"))
}
