package api

import (
	"context"
	"errors"
	"strings"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
	"partwright/worker/store"
)

// FindScores serves GET /v1/scores.
func (h *handlers) FindScores(c *gin.Context, p FindScoresParams) {
	q := store.Find{Kind: store.FoundScores, Title: p.Title, Text: p.Text, After: p.After, Limit: p.Limit, Is: map[string]string{
		"batch": p.Batch, "outcome": p.Outcome, "key": p.Key, "mode": p.Mode, "texture": p.Texture, "shape": p.Shape,
		"composer": p.Composer, "engine": p.Engine, "rule_set": p.RuleSet,
	}}
	h.find(c, q, p.Catalogue, p.CountBy, p.Groups, func(page *store.FoundPage, counts FoundCounts) any {
		return FoundScorePage{Scores: orNone(page.Scores), Counts: counts, Next: page.Next}
	})
}

// FindFindings serves GET /v1/findings.
func (h *handlers) FindFindings(c *gin.Context, p FindFindingsParams) {
	q := store.Find{Kind: store.FoundFindings, Title: p.Title, Text: p.Text, After: p.After, Limit: p.Limit, Is: map[string]string{
		"batch": p.Batch, "rule": p.Rule, "family": p.Family, "severity": p.Severity, "voices": p.Voices,
		"key": p.Key, "mode": p.Mode, "numeral": p.Numeral, "composer": p.Composer,
	}}
	h.find(c, q, p.Catalogue, p.CountBy, p.Groups, func(page *store.FoundPage, counts FoundCounts) any {
		return FoundFindingPage{Findings: orNone(page.Findings), Counts: counts, Next: page.Next}
	})
}

// FindHarmonies serves GET /v1/harmonies.
func (h *handlers) FindHarmonies(c *gin.Context, p FindHarmoniesParams) {
	q := store.Find{
		Kind: store.FoundHarmonies, Title: p.Title, Text: p.Text, After: p.After, Limit: p.Limit, Succession: strings.Fields(p.Succession),
		Is: map[string]string{"batch": p.Batch, "key": p.Key, "mode": p.Mode, "numeral": p.Numeral, "cadence": p.Cadence, "formula": p.Formula, "composer": p.Composer},
	}
	h.find(c, q, p.Catalogue, p.CountBy, p.Groups, func(page *store.FoundPage, counts FoundCounts) any {
		return FoundHarmonyPage{Harmonies: orNone(page.Harmonies), Counts: counts, Next: page.Next}
	})
}

// orNone makes an empty list of nil, which JSON would call null.
func orNone[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// find answers a question with what view makes of a page.
func (h *handlers) find(c *gin.Context, q store.Find, catalogue, countBy string, groups int, view func(*store.FoundPage, FoundCounts) any) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		q.Organization = organization
		if column, value, ok := strings.Cut(catalogue, "="); ok {
			q.Catalogue = map[string]string{column: value}
		}
		orDefault(&q.Limit, 100)
		orDefault(&groups, 100)
		var by []string
		if countBy != "" {
			by = strings.Split(countBy, ",")
		}
		if err := store.CheckCountBy(q.Kind, by, true); err != nil {
			return refuse(invalidRequest, "count_by: "+err.Error()+".")
		}
		page, counts, err := s.Ask(ctx, q, by, groups)
		switch {
		case errors.Is(err, batch.ErrUnsearched):
			return refuse(notFound, "This service keeps nothing to be asked across batches: it was started with --search=false.")
		case errors.Is(err, store.ErrCursor):
			return refuse(invalidRequest, "after: it is not what a page of this question gave as next.")
		case errors.As(err, new(*store.SuccessionError)):
			return refuse(invalidRequest, "succession: "+err.Error()+".")
		case err != nil:
			return err
		}
		h.writeJSON(c, view(page, counts))
		return nil
	})
}
