package settings

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"

	"partwright/theory/partwriting"
)

//go:embed rule_set_page.html
var ruleSetPageText string

var ruleSetPage = template.Must(template.New("rule set").Parse(ruleSetPageText))

// RuleSetPage writes a rule set out as one page of HTML to read or print: every
// rule by family, with its definition, reason, source and severity, then the
// settings and ranges. The set may be nil for the default one.
func RuleSetPage(set *partwriting.RuleSet, catalog *partwriting.Catalog) ([]byte, error) {
	type family struct {
		Name  string
		Rules []partwriting.PageRule
	}
	page := set.Page(catalog)
	var families []family
	for _, f := range partwriting.Families {
		shown := family{Name: catalog.Families[f.String()]}
		for _, rule := range page.Rules {
			if rule.Family == f {
				shown.Rules = append(shown.Rules, rule)
			}
		}
		families = append(families, shown)
	}
	var out bytes.Buffer
	err := ruleSetPage.Execute(&out, map[string]any{
		"Language": catalog.Language, "Page": page, "Families": families, "Words": catalog.Page,
		"Severities": catalog.Severities, "Voices": catalog.Voices,
	})
	if err != nil {
		return nil, fmt.Errorf("writing the page of a rule set: %w", err)
	}
	return out.Bytes(), nil
}
