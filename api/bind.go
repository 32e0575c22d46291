package api

import (
	"errors"
	"fmt"
	"strings"

	"github.com/gin-gonic/gin"

	"partwright/worker/request"
	"partwright/worker/settings"
)

// bind makes a request of the query and of the fields of a form, which win. What a
// parameter may be was held against the contract before.
func (h *handlers) bind(c *gin.Context, r request.Request, fields map[string]fieldValue) error {
	values, err := h.options(c, fields)
	if err != nil {
		return err
	}
	said := request.Values{}
	for _, f := range r.Fields() {
		if field, ok := fields[f.Name]; ok {
			said[f.Name] = request.Source{Name: fileOf(f.Name, field), Text: field.text}
		} else if values.Has(f.Name) {
			said[f.Name] = request.Source{Name: f.Name, Text: values.Get(f.Name)}
		}
		if f.Name == languageField {
			tag, err := h.speak(c, said[f.Name].Text)
			if err != nil {
				return err
			}
			said[f.Name] = request.Source{Text: tag}
		}
	}
	return request.Bind(r, said)
}

// languageField is chosen by Accept-Language where nobody names one.
const languageField = "language"

// formFields are the fields that a form may have for a request, beside those that the
// query may have as well.
func (h *handlers) formFields(c *gin.Context, r request.Request) fieldSizes {
	query := h.queryFields(c)
	for _, f := range r.Fields() {
		if f.Kind == request.File || f.Name == progressionField {
			query[f.Name] = int64(f.Longest)
		}
	}
	return query
}

// fileOf is the name under which errors speak of a field.
func fileOf(name string, field fieldValue) string {
	if field.file != "" {
		return field.file
	}
	return name
}

// labelsIn reads the labels that came with a score, nil for none.
func labelsIn(s request.Source) (*settings.Labels, error) {
	if s.Text == "" {
		return nil, nil //nolint:nilnil // none came
	}
	return settings.ReadLabels(s.Name, []byte(s.Text))
}

// refusalOf says what a field that is wrong means for a client: one of the kinds with a
// name of their own, or the other one.
func refusalOf(err *request.Error, other *kind) *refusal {
	var choice *request.ChoiceError
	switch isChoice := errors.As(err, &choice); {
	case errors.Is(err, request.ErrBoth):
		noun := strings.ReplaceAll(strings.TrimPrefix(err.Field, "own_"), "_", " ")
		return refuse(invalidRequest, "There is a ", noun, " by name and one of your own; only one can apply.")
	case errors.Is(err, request.ErrLanguage):
		return refuse(unknownLanguage)
	case isChoice && err.Field == "rule_set":
		return refuse(unknownRuleSet)
	case isChoice && err.Field == "rubric":
		return refuse(unknownRubric)
	}
	return refuse(other, fmt.Sprintf("The option %s cannot be met: %v.", err.Field, err.Err))
}
