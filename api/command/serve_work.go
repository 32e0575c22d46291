package command

import (
	"fmt"

	"github.com/spf13/pflag"
)

// Whether scores are worked on in processes of their own.
const (
	apartAuto = "auto"
	apartYes  = "yes"
	apartNo   = "no"
)

// WorkConfig bounds what the work on one score may do to the service.
type WorkConfig struct {
	// Apart tells that scores are worked on in processes of their own; it is settled by
	// ServeConfig.validate.
	Apart bool
	// JobMemory is how many bytes one score may take.
	JobMemory int64

	apart string
}

// defaultJobMemory lets eight scores at once stay below four gigabytes, and the usual two
// or four below one or two.
const defaultJobMemory = 384 << 20

func addWork(flags *pflag.FlagSet, f *WorkConfig) {
	flags.StringVar(&f.apart, "apart", apartAuto, "work on scores in processes of their own, which end alone where one goes wrong: yes, no, or auto for yes with accounts, with a database, or with --allow-anyone")
	flags.Int64Var(&f.JobMemory, "job-memory", defaultJobMemory, "most memory in bytes that the work on one score may take")
}

func (f *WorkConfig) settle(exposed bool) error {
	switch f.apart {
	case apartAuto:
		f.Apart = exposed
	case apartYes, apartNo:
		f.Apart = f.apart == apartYes
	default:
		return fmt.Errorf("--apart %s: say auto, yes or no", f.apart)
	}
	return nil
}
