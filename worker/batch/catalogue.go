package batch

import (
	"context"
	"fmt"

	"partwright/worker/collection"
	"partwright/worker/store"
)

// Bounds on what is kept of a catalogue.
const (
	mostCatalogueColumns = 20
	mostCatalogueValue   = 200 // bytes
)

// CatalogueError says what is wrong with a catalogue.
type CatalogueError struct{ Problem string }

// Error returns a sentence.
func (e *CatalogueError) Error() string { return e.Problem }

// KeptCatalogue is what is kept of a catalogue.
type KeptCatalogue struct {
	// Columns are those but that of the file.
	Columns []string `json:"columns"`
	// Scores is of how many scores it says something, Unused how many files it names for
	// which none has come.
	Scores int `json:"scores"`
	Unused int `json:"unused"`
}

// SetCatalogue keeps what a table of CSV says of the scores that a batch has so far, in
// place of what one said before; see [collection.ReadCatalogue]. It is written in steps, so
// that others write in between: what is broken off is whole once it is sent again. The error
// is a [*CatalogueError] where the table is not as it has to be.
func (s *Service) SetCatalogue(ctx context.Context, organization, id string, table []byte) (*KeptCatalogue, error) {
	c, err := collection.ReadCatalogue(table)
	if err != nil {
		return nil, &CatalogueError{err.Error()}
	}
	kept := &KeptCatalogue{Columns: c.Columns()}
	if n := len(kept.Columns); n > mostCatalogueColumns {
		return nil, &CatalogueError{fmt.Sprintf("the catalogue has %d columns beside file; at most %d are kept", n, mostCatalogueColumns)}
	}
	if file, column := c.Longer(mostCatalogueValue); column != "" {
		return nil, &CatalogueError{fmt.Sprintf("the catalogue says more than %d bytes of %q in the column %q", mostCatalogueValue, file, column)}
	}
	for after := int64(0); ; {
		var page []store.Named
		_, err := s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
			page, err = store.Names(ctx, tx, organization, id, after, pageSize)
			if err != nil || len(page) == 0 {
				return err
			}
			var cells []store.Cell
			for _, member := range page {
				values := c.Of(member.Name)
				for i, value := range values {
					cells = append(cells, store.Cell{Number: member.Number, Name: kept.Columns[i], Value: value})
				}
				if values != nil {
					kept.Scores++
				}
			}
			return store.SetCatalogue(ctx, tx, b, after+1, page[len(page)-1].Number, cells)
		})
		if err != nil {
			return nil, err
		}
		if len(page) < pageSize {
			kept.Unused = len(c.Unused())
			return kept, nil
		}
		after = page[len(page)-1].Number
	}
}
