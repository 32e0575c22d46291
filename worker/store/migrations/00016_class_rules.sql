-- +goose Up

-- How often what an assignment is has been changed. Work is kept only if it was marked by
-- what the assignment is now.
ALTER TABLE assignments ADD COLUMN revision BIGINT NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE assignments DROP COLUMN revision;
