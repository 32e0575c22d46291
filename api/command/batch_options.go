package command

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"partwright/worker/batch"
)

// batchOptions are what the flags ask of a batch, in the words that are kept with it.
// Files of one's own are read now: they may be gone when it goes on.
func (f *batchCommand) batchOptions(flags *pflag.FlagSet) (batch.Options, error) {
	// What is wrong is told in the words of the flags.
	if _, err := f.checkFlags.options(); err != nil {
		return batch.Options{}, err
	}
	o := batch.Options{
		Language: f.language, Marks: true, Upgrade: f.upgrade, Analysis: f.analysis, Annotate: f.annotate,
		Given: f.given, Fixes: f.fixes, Voices: f.voices,
	}
	own := func(name string, isFile bool, named, text *string) error {
		if !isFile {
			*named = name
			return nil
		}
		content, err := fromFile(name, func(_ string, data []byte) (string, error) { return string(data), nil })
		*text = content
		return err
	}
	err := errors.Join(
		own(f.rules, isSettingsFile(f.rules), &o.RuleSet, &o.OwnRuleSet),
		own(f.rubric, isSettingsFile(f.rubric), &o.Rubric, &o.OwnRubric),
		own(f.accepted, f.accepted != "", new(string), &o.Accepted),
	)
	if err != nil {
		return o, err
	}
	o.Mend, err = f.mending(flags)
	return o, err
}

// mending are the options of mending, nil where it was not asked for.
func (f *batchCommand) mending(flags *pflag.FlagSet) (*batch.Mend, error) {
	if f.mend {
		request, err := f.choice.request()
		if err != nil {
			return nil, err
		}
		if err := request.Validate(); err != nil {
			return nil, err
		}
		c := &f.choice
		return &batch.Mend{
			Severity: c.severity, Keep: c.keep, KeepMeasures: c.measures, Only: c.only, Alternatives: c.ways, Both: c.both,
		}, nil
	}
	var err error
	flags.Visit(func(flag *pflag.Flag) {
		if strings.HasPrefix(flag.Name, "mend-") {
			err = fmt.Errorf("--%s says how scores are mended: say --mend as well", flag.Name)
		}
	})
	return nil, err
}
