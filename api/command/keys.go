package command

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/account"
	"partwright/worker/store"
)

func newKeys() *cobra.Command {
	cmd := &cobra.Command{
		Use:  "keys COMMAND",
		Args: onlyCommands,
		RunE: func(*cobra.Command, []string) error {
			return errors.New("name a command, such as: partwright keys list ORGANIZATION")
		},
		Short: "Manage the keys of organizations",
		Long: `A key shows which organization a program works for, in the header
"Authorization: Bearer KEY". A key has scopes, may expire, and can be revoked. It
is shown once, when it is made: only a hash of it is kept.

A browser signs in at the service's page with a key, or by a link that "keys link" makes.

Scopes: ` + strings.Join(account.ScopeNames(account.Scopes), ", ") + ".",
	}
	cmd.AddCommand(newKeysCreate(), newKeysLink(), newKeysList(), newKeysRevoke())
	return cmd
}

func newKeysCreate() *cobra.Command {
	var c store.Config
	var n account.NewKey
	scopes := account.ScopeNames(account.Scopes)
	cmd := &cobra.Command{
		Use:   "create ORGANIZATION",
		Short: "Make a key and print it, this once",
		Args:  oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			if n.Scopes, err = account.ParseScopes(scopes); err != nil {
				return fmt.Errorf("--scopes: %w", err)
			}
			if err := checkName(n.Name); err != nil {
				return fmt.Errorf("--name: %w", err)
			}
			n.Organization = args[0]
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				text, key, err := account.CreateKey(ctx, s, n)
				if err != nil {
					return noOrganization(err, args[0])
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "Key %s of organization %s. Keep what follows; it is not shown again.\n", key.ID, key.Organization)
				_, err = fmt.Fprintln(cmd.OutOrStdout(), text)
				return err
			})
		},
	}
	cmd.Flags().StringVar(&n.Name, "name", "", "what the key is for, for its owner")
	cmd.Flags().StringSliceVar(&scopes, "scopes", scopes, "what the key may do")
	cmd.Flags().DurationVar(&n.Lifetime, "lifetime", 0, "how long the key works, 0 for ever")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

func newKeysLink() *cobra.Command {
	var c store.Config
	var address string
	cmd := &cobra.Command{
		Use:   "link KEY",
		Short: "Make a link that signs one browser in with what a key may do",
		Long: `Link prints an address that signs the first browser that opens it in, within a
day. The browser may do what the key may, for as long as it is signed in, and not
after the key is revoked. The key itself need not be shown to anybody. Whoever has
the link can use it: pass it on as you would a password.`,
		Args: oneOf("key, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			page, err := url.Parse(address)
			if err != nil || page.Host == "" || (page.Scheme != "https" && page.Scheme != "http") {
				return fmt.Errorf("--url %q: give the address of the service's page, such as https://marks.school.example", address)
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				text, expires, err := account.CreateLink(ctx, s, args[0])
				switch {
				case errors.Is(err, store.ErrNotFound):
					return errNoKey
				case err != nil:
					return err
				}
				// A fragment is not sent: it stands in no log on the way.
				page.Path, page.RawQuery, page.Fragment = "/", "", "sign-in?link="+text
				fmt.Fprintf(cmd.ErrOrStderr(), "It signs one browser in, until %s.\n", moment(expires))
				_, err = fmt.Fprintln(cmd.OutOrStdout(), page)
				return err
			})
		},
	}
	cmd.Flags().StringVar(&address, "url", "http://127.0.0.1:8080", "where browsers reach the service's page")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

var errNoKey = errors.New("there is no key with that id: partwright keys list ORGANIZATION shows all")

func newKeysList() *cobra.Command {
	var c store.Config
	cmd := &cobra.Command{
		Use:   "list ORGANIZATION",
		Short: "List the keys of an organization",
		Args:  oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				var rows [][]string
				err := s.Read(ctx, func(tx store.Tx) error {
					rows = nil
					if _, err := store.OrganizationByID(ctx, tx, args[0]); err != nil {
						return noOrganization(err, args[0])
					}
					all, err := store.Keys(ctx, tx, args[0])
					for _, k := range all {
						rows = append(rows, []string{
							k.ID, keyState(k, s.Now()), moment(k.Created), moment(k.Expires), moment(k.LastUsed), strings.Join(k.Scopes, "\n"), k.Name,
						})
					}
					return err
				})
				if err != nil {
					return err
				}
				header := []string{"key", "state", "made", "expires", "last used", "scopes", "name"}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), grid(widthOf(cmd.OutOrStdout()), header, rows))
				return err
			})
		},
	}
	addStore(cmd.Flags(), &c)
	return cmd
}

func keyState(k store.Key, now time.Time) string {
	switch {
	case !k.Revoked.IsZero():
		return "revoked"
	case !k.Expires.IsZero() && !now.Before(k.Expires):
		return "expired"
	}
	return "works"
}

// moment is to the second, in UTC as the log is: whoever looks for what was done with a
// leaked key compares the two.
func moment(t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return t.UTC().Format(time.RFC3339)
}

func newKeysRevoke() *cobra.Command {
	var c store.Config
	cmd := &cobra.Command{
		Use:   "revoke KEY",
		Short: "Revoke a key by its id, for good",
		Long: `Revoke ends a key, named by the id that the list shows. A running service may
still accept it for some seconds.`,
		Args: oneOf("key, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				err := s.Write(ctx, func(tx store.Tx) error { return s.RevokeKey(ctx, tx, args[0]) })
				if errors.Is(err, store.ErrNotFound) {
					return errNoKey
				}
				return err
			})
		},
	}
	addStore(cmd.Flags(), &c)
	return cmd
}
