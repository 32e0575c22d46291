package command

import (
	"errors"

	"github.com/spf13/pflag"

	"partwright/worker/store"
)

// addStore adds the flags that say where batches and accounts are kept.
func addStore(flags *pflag.FlagSet, c *store.Config) {
	flags.StringVar(&c.Dir, "data-dir", c.Dir, "directory of the embedded database")
	flags.StringVar(&c.URL, "database-url", c.URL,
		"PostgreSQL, as postgres://user@host/name; where it holds a password, in PARTWRIGHT_DATABASE_URL rather than here")
}

// oneStore refuses two places for the data, of which the environment may name one.
func oneStore(c *store.Config) error {
	if c.Dir != "" && c.URL != "" {
		return errors.New("--data-dir and --database-url are both set, here or as PARTWRIGHT_DATA_DIR and PARTWRIGHT_DATABASE_URL: leave one empty")
	}
	return nil
}
