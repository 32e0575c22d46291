package command

import (
	"github.com/spf13/pflag"

	"partwright/api"
)

// addAccounts adds the flags that say who may come.
func addAccounts(flags *pflag.FlagSet, accounts *bool, c *api.Config) {
	flags.BoolVar(accounts, "accounts", false, "ask every client for a key; see partwright keys")
	flags.BoolVar(&c.AllowAnyone, "allow-anyone", c.AllowAnyone, "without accounts, listen beyond this machine: something in front of it must decide who may use it")
	flags.IntVar(&c.Key.Rate, "key-rate", c.Key.Rate, "requests a second with one key, in the long run")
	flags.IntVar(&c.Key.Burst, "key-burst", c.Key.Burst, "requests at once with one key after a pause")
	flags.IntVar(&c.Key.Concurrent, "key-concurrent", c.Key.Concurrent, "requests answered at the same time with one key")
	flags.Int64Var(&c.Key.Bytes, "key-bytes", c.Key.Bytes, "bytes uploaded a minute with one key")
}
