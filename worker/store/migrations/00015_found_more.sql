-- +goose Up

-- Scores of a composer or of a version, and cadences of a formula, of which there may be
-- few among many.
CREATE INDEX found_scores_by_composer ON found_scores (organization_id, composer, batch_id, number);
CREATE INDEX found_scores_by_engine ON found_scores (organization_id, engine, batch_id, number);
CREATE INDEX found_harmonies_by_formula ON found_harmonies (organization_id, formula, batch_id, number, position) WHERE formula <> '';

-- +goose Down
DROP INDEX found_harmonies_by_formula;
DROP INDEX found_scores_by_engine;
DROP INDEX found_scores_by_composer;
