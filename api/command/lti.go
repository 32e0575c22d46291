package command

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"time"

	"github.com/spf13/cobra"

	"partwright/api/lti"
	"partwright/worker/store"
)

func newLTI() *cobra.Command {
	cmd := &cobra.Command{
		Use:  "lti COMMAND",
		Args: onlyCommands,
		RunE: func(*cobra.Command, []string) error {
			return errors.New("name a command, such as: partwright lti invite ORGANIZATION")
		},
		Short: "Manage the learning systems of organizations",
		Long: `A school's learning system opens the service by LTI 1.3, an open standard of 1EdTech.
The service must know it, and it the service: by one address that its administrator
pastes ("lti invite"), or by hand ("lti add").`,
	}
	cmd.AddCommand(newLTIInvite(), newLTIAdd(), newLTIDeployment(), newLTIList(), newLTIDelete())
	return cmd
}

func newLTIInvite() *cobra.Command {
	var c store.Config
	var base string
	var lasts time.Duration
	cmd := &cobra.Command{
		Use:   "invite ORGANIZATION",
		Short: "Print the address that registers one learning system, once",
		Args:  oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			u, err := url.Parse(base)
			if err != nil || u.Host == "" {
				return errors.New("--url: give the address of the service, such as https://marks.school.example")
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				secret, hash := lti.NewInvitation()
				until := s.Now().Add(lasts)
				err := s.Write(ctx, func(tx store.Tx) error { return store.AddLTIInvitation(ctx, tx, args[0], hash, until) })
				if err != nil {
					return noOrganization(err, args[0])
				}
				fmt.Fprintf(cmd.ErrOrStderr(), "The address registers one learning system, until %s. It is not shown again.\n", until.UTC().Format(time.RFC3339))
				_, err = fmt.Fprintln(cmd.OutOrStdout(), lti.InvitationAddress(u.Scheme+"://"+u.Host, secret))
				return err
			})
		},
	}
	cmd.Flags().StringVar(&base, "url", "", "where browsers reach the service")
	cmd.Flags().DurationVar(&lasts, "lasts", 7*24*time.Hour, "how long the address counts")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

func newLTIAdd() *cobra.Command {
	var c store.Config
	var r store.LTIRegistration
	var deployments []string
	cmd := &cobra.Command{
		Use:   "add ORGANIZATION",
		Short: "Register a learning system by hand and print the registration's id",
		Args:  oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if r.Issuer == "" || r.ClientID == "" || r.Authorization == "" || r.Token == "" || r.Keys == "" {
				return errors.New("give --issuer, --client-id, --login-url, --token-url and --keys-url, as the learning system shows them")
			}
			r.Organization = args[0]
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				var made *store.LTIRegistration
				err := s.Write(ctx, func(tx store.Tx) (err error) {
					if _, err = store.OrganizationByID(ctx, tx, args[0]); err != nil {
						return noOrganization(err, args[0])
					}
					made, err = s.AddLTIRegistration(ctx, tx, r, deployments...)
					if errors.Is(err, store.ErrNotFound) {
						err = errors.New("another organization has registered this issuer and client id")
					}
					return err
				})
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), made.ID)
				return err
			})
		},
	}
	f := cmd.Flags()
	f.StringVar(&r.Issuer, "issuer", "", "the learning system's issuer, exactly as it writes it")
	f.StringVar(&r.ClientID, "client-id", "", "the service's client id there")
	f.StringVar(&r.Authorization, "login-url", "", "its address for logins (authorization endpoint)")
	f.StringVar(&r.Token, "token-url", "", "its address for access tokens")
	f.StringVar(&r.Keys, "keys-url", "", "its address for public keys (JWKS)")
	f.StringVar(&r.Audience, "token-audience", "", "whom requests for access tokens are addressed to, if not --token-url")
	f.StringSliceVar(&deployments, "deployment", nil, "ids of deployments")
	markCommandLineOnly(f)
	addStore(f, &c)
	return cmd
}

// twoOf asks for exactly two arguments.
func twoOf(what string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) != 2 {
			return fmt.Errorf("give %s", what)
		}
		return nil
	}
}

func newLTIDeployment() *cobra.Command {
	var c store.Config
	cmd := &cobra.Command{
		Use:   "deployment REGISTRATION DEPLOYMENT",
		Short: "Make a deployment of a learning system known",
		Args:  twoOf("a registration, by its id, and a deployment, as the learning system shows it"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				return s.Write(ctx, func(tx store.Tx) error {
					if _, err := store.LTIRegistrationByID(ctx, tx, args[0]); err != nil {
						return noRegistration(err, args[0])
					}
					return s.AddLTIDeployment(ctx, tx, args[0], args[1])
				})
			})
		},
	}
	addStore(cmd.Flags(), &c)
	return cmd
}

func noRegistration(err error, id string) error {
	if errors.Is(err, store.ErrNotFound) {
		return fmt.Errorf("there is no registration %q there: partwright lti list ORGANIZATION shows all", id)
	}
	return err
}

func newLTIList() *cobra.Command {
	var c store.Config
	cmd := &cobra.Command{
		Use:   "list ORGANIZATION",
		Short: "List the learning systems of an organization",
		Args:  oneOf("organization, by its id"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				var rows [][]string
				err := s.Read(ctx, func(tx store.Tx) error {
					rows = nil
					all, err := store.LTIRegistrationsOf(ctx, tx, args[0])
					for _, r := range all {
						rows = append(rows, []string{r.ID, r.Issuer, r.ClientID, r.Created.UTC().Format(time.RFC3339)})
					}
					return err
				})
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), grid(widthOf(cmd.OutOrStdout()), []string{"registration", "issuer", "client id", "made"}, rows))
				return err
			})
		},
	}
	addStore(cmd.Flags(), &c)
	return cmd
}

func newLTIDelete() *cobra.Command {
	var c store.Config
	var sure bool
	cmd := &cobra.Command{
		Use:   "delete ORGANIZATION REGISTRATION",
		Short: "Forget a learning system with its deployments and scores",
		Args:  twoOf("an organization and a registration, by their ids"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !sure {
				return errors.New("this cannot be undone: say --sure")
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				return s.Write(ctx, func(tx store.Tx) error {
					return noRegistration(store.DeleteLTIRegistration(ctx, tx, args[0], args[1]), args[1])
				})
			})
		},
	}
	cmd.Flags().BoolVar(&sure, "sure", false, "really delete it")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}
