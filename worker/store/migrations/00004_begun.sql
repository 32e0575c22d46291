-- +goose Up

-- How often work on the score was begun after it had been interrupted again and
-- again.
ALTER TABLE members ADD COLUMN begun BIGINT NOT NULL DEFAULT 0;

-- Files among the scores that are none.
ALTER TABLE batches ADD COLUMN skipped BIGINT NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE batches DROP COLUMN skipped;
ALTER TABLE members DROP COLUMN begun;
