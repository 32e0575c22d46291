-- +goose Up

-- What came of voicing the score, where the batch asked for that.
ALTER TABLE results ADD COLUMN voicing BYTEA;

-- +goose Down
ALTER TABLE results DROP COLUMN voicing;
