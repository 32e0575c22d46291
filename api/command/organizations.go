package command

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/worker/store"
)

func newOrganizations() *cobra.Command {
	cmd := &cobra.Command{
		Use:  "organizations COMMAND",
		Args: onlyCommands,
		RunE: func(*cobra.Command, []string) error {
			return errors.New("name a command, such as: partwright organizations list")
		},
		Short: "Manage the organizations that share a service",
		Long: `Organizations share a service and see nothing of each other. Their scores and their
keys belong to them. The commands work on the database of the service, whether it
runs or not. They are for whoever operates it.`,
	}
	cmd.AddCommand(newOrganizationsCreate(), newOrganizationsList(), newOrganizationsChange(), newOrganizationsForget(), newOrganizationsDelete())
	return cmd
}

// withStore opens the database for a command that manages accounts. What goes
// wrong there is no wrong use. Only one that makes something may make the database: a
// mistyped directory would look like an empty one.
func withStore(cmd *cobra.Command, c store.Config, makes bool, f func(context.Context, *store.Store) error) (err error) {
	if c.Dir == "" && c.URL == "" {
		return errors.New("say where the data is: --data-dir or --database-url")
	}
	if err := oneStore(&c); err != nil {
		return err
	}
	c.Beside, c.Existing = true, !makes
	s, err := store.Open(cmd.Context(), c)
	if err != nil {
		return &status{exitUnreadable, err}
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := f(cmd.Context(), s); err != nil {
		return &status{exitUnreadable, err}
	}
	return nil
}

// addQuotas adds a flag for each quota.
func addQuotas(flags *pflag.FlagSet, q *store.Quotas) {
	flags.Int64Var(&q.Scores, "max-scores", q.Scores, "scores kept at once, 0 for any number")
	flags.Int64Var(&q.Bytes, "max-stored", q.Bytes, "bytes kept at once, compressed, 0 for any number")
	flags.Int64Var(&q.OpenBatches, "max-open-batches", q.OpenBatches, "batches open at once, 0 for any number")
	flags.DurationVar(&q.Retention, "retention", q.Retention, "how long a batch is kept after nothing has happened in it, 0 for ever")
}

func checkQuotas(q store.Quotas) error {
	if q.Retention%time.Second != 0 {
		return errors.New("--retention: say whole seconds")
	}
	return nil
}

// maxName bounds the name of an organization or key, in characters.
const maxName = 200

// checkName refuses what would spoil a list on a terminal.
func checkName(name string) error {
	if utf8.RuneCountInString(name) > maxName {
		return fmt.Errorf("the name has more than %d characters", maxName)
	}
	if strings.ContainsFunc(name, func(r rune) bool { return r == utf8.RuneError || !unicode.IsPrint(r) }) {
		return errors.New("the name has characters that cannot be printed")
	}
	return nil
}

// oneOf asks for exactly one argument.
func oneOf(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 1 {
			return fmt.Errorf("give one %s, not %d", what, len(args))
		}
		return nil
	}
}

func newOrganizationsCreate() *cobra.Command {
	var c store.Config
	var q store.Quotas
	cmd := &cobra.Command{
		Use:   "create NAME",
		Short: "Create an organization and print its id",
		Args:  oneOf("name, in quotation marks if it has blanks"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if args[0] == "" {
				return errors.New("give the organization a name")
			}
			if err := errors.Join(checkName(args[0]), checkQuotas(q)); err != nil {
				return err
			}
			return withStore(cmd, c, true, func(ctx context.Context, s *store.Store) error {
				var o *store.Organization
				err := s.Write(ctx, func(tx store.Tx) (err error) {
					o, err = s.CreateOrganization(ctx, tx, args[0], q)
					return err
				})
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), o.ID)
				return err
			})
		},
	}
	addQuotas(cmd.Flags(), &q)
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

func newOrganizationsList() *cobra.Command {
	var c store.Config
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List organizations and how much of their quotas they use",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				var rows [][]string
				err := s.Read(ctx, func(tx store.Tx) error {
					rows = nil
					all, err := store.Organizations(ctx, tx)
					for _, o := range all {
						used, err := store.UsageOf(ctx, tx, o.ID)
						if err != nil {
							return err
						}
						rows = append(rows, []string{
							o.ID, ofQuota(used.Scores, o.Scores), ofQuota(used.Bytes, o.Bytes),
							ofQuota(used.OpenBatches, o.OpenBatches), orForever(o.Retention), o.Name,
						})
					}
					return err
				})
				if err != nil {
					return err
				}
				header := []string{"organization", "scores", "bytes", "open batches", "retention", "name"}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), grid(widthOf(cmd.OutOrStdout()), header, rows))
				return err
			})
		},
	}
	addStore(cmd.Flags(), &c)
	return cmd
}

func ofQuota(used, quota int64) string {
	text := strconv.FormatInt(used, 10)
	if quota > 0 {
		text += " of " + strconv.FormatInt(quota, 10)
	}
	return text
}

func orForever(d time.Duration) string {
	if d == 0 {
		return "for ever"
	}
	return d.String()
}

func newOrganizationsChange() *cobra.Command {
	var c store.Config
	var q store.Quotas
	var name string
	cmd := &cobra.Command{
		Use:   "change ORGANIZATION",
		Short: "Change the name or quotas of an organization",
		Long: `Change changes what a flag is given for and leaves the rest. The organization
of a service without accounts is called ` + store.SingleUser + `.`,
		Args: oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			given := false
			cmd.Flags().Visit(func(f *pflag.Flag) {
				_, isChange := f.Annotations[commandLineOnly]
				given = given || isChange
			})
			if !given {
				return errors.New("say what to change, such as --retention 2160h")
			}
			if cmd.Flags().Changed("name") && name == "" {
				return errors.New("give the organization a name")
			}
			if err := errors.Join(checkName(name), checkQuotas(q)); err != nil {
				return err
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				return s.Write(ctx, func(tx store.Tx) error {
					_, err := store.ChangeOrganization(ctx, tx, args[0], func(o *store.Organization) error {
						setIfGiven(cmd.Flags(), "name", &o.Name, name)
						setIfGiven(cmd.Flags(), "max-scores", &o.Scores, q.Scores)
						setIfGiven(cmd.Flags(), "max-stored", &o.Bytes, q.Bytes)
						setIfGiven(cmd.Flags(), "max-open-batches", &o.OpenBatches, q.OpenBatches)
						setIfGiven(cmd.Flags(), "retention", &o.Retention, q.Retention)
						return nil
					})
					return noOrganization(err, args[0])
				})
			})
		},
	}
	addQuotas(cmd.Flags(), &q)
	cmd.Flags().StringVar(&name, "name", "", "a new name")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

// setIfGiven sets the value of a flag that was given.
func setIfGiven[T any](flags *pflag.FlagSet, flag string, into *T, value T) {
	if flags.Changed(flag) {
		*into = value
	}
}

func noOrganization(err error, id string) error {
	if errors.Is(err, store.ErrNotFound) {
		return fmt.Errorf("there is no organization %q: partwright organizations list shows all", id)
	}
	return err
}

func newOrganizationsDelete() *cobra.Command {
	var c store.Config
	var sure bool
	cmd := &cobra.Command{
		Use:   "delete ORGANIZATION",
		Short: "Delete an organization with its batches, scores, results and keys",
		Long: `Delete removes an organization and everything that belongs to it, for good: batches,
scores, results and keys. Back-ups hold the data until they are overwritten.`,
		Args: oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !sure {
				return errors.New("this cannot be undone: say --sure")
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				return s.Write(ctx, func(tx store.Tx) error {
					return noOrganization(store.DeleteOrganization(ctx, tx, args[0]), args[0])
				})
			})
		},
	}
	cmd.Flags().BoolVar(&sure, "sure", false, "really delete it")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}
