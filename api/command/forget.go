package command

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"partwright/worker/store"
)

func newOrganizationsForget() *cobra.Command {
	var c store.Config
	var older time.Duration
	cmd := &cobra.Command{
		Use:   "forget ORGANIZATION [BATCH…]",
		Short: "Delete batches of an organization with their scores and results",
		Long: `Forget deletes batches for good: those named and, with --older, those in which
nothing has happened for longer. A score goes with the last batch that has it. Use
it when somebody asks for data to be deleted; the retention of the organization
deletes by itself. Back-ups hold the data until they are overwritten.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if older < 0 || older%time.Second != 0 {
				return errors.New("--older: say whole seconds")
			}
			if len(args) == 1 && older == 0 {
				return errors.New("say which batches: by id, or with --older")
			}
			return withStore(cmd, c, false, func(ctx context.Context, s *store.Store) error {
				batches := args[1:]
				if older > 0 {
					idle, err := idleBatches(ctx, s, args[0], older)
					if err != nil {
						return err
					}
					batches = append(batches, idle...)
				}
				return forget(ctx, s, args[0], batches, cmd)
			})
		},
	}
	cmd.Flags().DurationVar(&older, "older", 0, "batches in which nothing has happened for longer")
	markCommandLineOnly(cmd.Flags())
	addStore(cmd.Flags(), &c)
	return cmd
}

func idleBatches(ctx context.Context, s *store.Store, organization string, older time.Duration) (ids []string, err error) {
	err = s.Read(ctx, func(tx store.Tx) error {
		ids = nil
		if _, err := store.OrganizationByID(ctx, tx, organization); err != nil {
			return noOrganization(err, organization)
		}
		idle, err := s.IdleBatches(ctx, tx, organization, older)
		for _, b := range idle {
			ids = append(ids, b.ID)
		}
		return err
	})
	return ids, err
}

// forget deletes batch by batch, each in steps that a running service hardly waits for.
func forget(ctx context.Context, s *store.Store, organization string, batches []string, cmd *cobra.Command) error {
	for i, id := range batches {
		err := s.DeleteBatch(ctx, organization, id)
		if errors.Is(err, store.ErrNotFound) {
			err = fmt.Errorf("the organization has no batch %q", id)
		}
		if err != nil {
			return fmt.Errorf("after deleting %d of %d: %w", i, len(batches), err)
		}
	}
	_, err := fmt.Fprintf(cmd.ErrOrStderr(), "batches deleted: %d\n", len(batches))
	return err
}
