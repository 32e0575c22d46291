package main

import (
	"github.com/spf13/pflag"

	"partwright/worker/store"
)

// addStore adds the flags that say where batches and accounts are kept.
func addStore(flags *pflag.FlagSet, c *store.Config) {
	flags.StringVar(&c.Dir, "data-dir", c.Dir, "directory of the embedded database")
	flags.StringVar(&c.URL, "database-url", c.URL,
		"PostgreSQL, as postgres://user@host/name; where it holds a password, in PARTWRIGHT_DATABASE_URL rather than here")
}
