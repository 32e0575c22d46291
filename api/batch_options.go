package api

import (
	"errors"
	"fmt"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/settings"
)

// ownFields are the fields of a form that hold files of the client's own.
var ownFields = fieldSizes{
	ownField: settings.MaxBytes, "own_rubric": settings.MaxBytes, "accepted": settings.MaxBytes,
}

// batchOptions are the options of a batch, from the query or the form. Whether they
// can be met says [batch.Service.Create].
func (h *handlers) batchOptions(c *gin.Context, values url.Values, fields map[string]fieldValue) (o batch.Options, err error) {
	// What a parameter may be was held against the contract before.
	isTrue := func(name string) bool { return values.Get(name) == "true" }
	o = batch.Options{
		RuleSet: values.Get("rule_set"), OwnRuleSet: fields[ownField].text,
		Rubric: values.Get("rubric"), OwnRubric: fields["own_rubric"].text, Accepted: fields["accepted"].text,
		Marks: isTrue("marks"), Upgrade: isTrue("upgrade"), Annotate: values.Get("annotate"),
		Analysis: isTrue("analysis"), Voices: isTrue("voices"), Given: values.Get("given"),
	}
	for name := range ownFields {
		if field, ok := fields[name]; ok && field.text == "" {
			return o, refuse(unusableOption, "The field ", name, " is empty.")
		}
	}
	if o.RuleSet != "" && o.OwnRuleSet != "" {
		return o, errTwoRuleSets
	}
	if o.Rubric != "" && o.OwnRubric != "" {
		return o, errTwoRubrics
	}
	if text := values.Get("fixes"); text != "" {
		if o.Fixes, err = fixesIn(text); err != nil {
			return o, err
		}
	}
	if o.Mend, err = batchMend(values); err != nil {
		return o, err
	}
	o.Language, err = h.languages.choose(values.Get("language"), c.GetHeader("Accept-Language"))
	return o, err
}

// batchMend are the options of mending, nil where it was not asked for.
func batchMend(values url.Values) (*batch.Mend, error) {
	if values.Get("mend") != "true" {
		for _, name := range []string{"severity", "keep", "keep_measures", "only", "alternatives", "both"} {
			if values.Has(name) {
				return nil, refuse(unusableOption, "The option ", name, " says how scores are mended, and mend is not true.")
			}
		}
		return nil, nil //nolint:nilnil // nothing was asked for
	}
	ways, err := option(values, "alternatives", 1, strconv.Atoi)
	return &batch.Mend{
		Severity: values.Get("severity"), Keep: listOf(values.Get("keep")), KeepMeasures: listOf(values.Get("keep_measures")),
		Only: listOf(values.Get("only")), Alternatives: ways, Both: values.Get("both") == "true",
	}, err
}

// optionError says what an option that cannot be met means for a client.
func optionError(err *batch.OptionError) error {
	var settings *settings.Error
	switch {
	case errors.As(err, &settings), errors.Is(err, worker.ErrLanguage):
		return err
	case err.Option == "rubric":
		return refuse(unknownRubric)
	case err.Option == "rule_set":
		return refuse(unknownRuleSet)
	}
	return refuse(unusableOption, fmt.Sprintf("The option %s cannot be met: %v.", err.Option, err.Err))
}
