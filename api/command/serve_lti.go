package command

import (
	"errors"

	"github.com/spf13/pflag"

	"partwright/worker/store"
)

// LTIConfig says where learning systems find the service.
type LTIConfig struct {
	URL   string // "" for a service that answers none
	Allow []string
	Plain bool
}

func addLTI(flags *pflag.FlagSet, f *LTIConfig) {
	flags.StringVar(&f.URL, "lti-url", "", "where browsers reach the service, such as https://marks.school.example: it then answers learning systems by LTI 1.3; see partwright lti")
	flags.StringSliceVar(&f.Allow, "lti-allow", nil, "blocks of addresses inside your own network where learning systems may be, such as 10.1.0.0/16")
	flags.BoolVar(&f.Plain, "lti-plain", false, "let addresses of learning systems, and --lti-url, begin with http:// too: to try it on one machine")
}

func (f *LTIConfig) validate(s *store.Config) error {
	if f.URL != "" && s.Dir == "" && s.URL == "" {
		return errors.New("--lti-url needs a place to keep registrations: --data-dir or --database-url")
	}
	return nil
}
