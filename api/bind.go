package api

import (
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
	given := request.Values{}
	for _, f := range r.Fields() {
		if field, ok := fields[f.Name]; ok {
			given[f.Name] = request.Source{Name: fileOf(f.Name, field), Text: field.text}
		} else if values.Has(f.Name) {
			given[f.Name] = request.Source{Name: f.Name, Text: values.Get(f.Name)}
		}
		if f.Name == languageField {
			tag, err := h.chooseLanguage(c, given[f.Name].Text)
			if err != nil {
				return err
			}
			given[f.Name] = request.Source{Text: tag}
		}
	}
	return request.Bind(r, given)
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

// fileOf is the name under which errors name a field.
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
