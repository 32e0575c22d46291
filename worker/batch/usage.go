package batch

import (
	"context"

	"partwright/worker/store"
)

// Usage returns what an organization may have and what it has.
func (s *Service) Usage(ctx context.Context, organization string) (o *store.Organization, used store.Usage, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if o, err = store.OrganizationByID(ctx, tx, organization); err == nil {
			used, err = store.UsageOf(ctx, tx, organization)
		}
		return err
	})
	return o, used, err
}
