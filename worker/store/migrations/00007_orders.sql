-- +goose Up

-- The number that was given out last: numbers of deleted scores are not given again.
ALTER TABLE batches ADD COLUMN last_number BIGINT NOT NULL DEFAULT 0;
UPDATE batches SET last_number = total;

-- Where the answers belong, a path without extension; '' where the name says so.
ALTER TABLE members ADD COLUMN place TEXT NOT NULL DEFAULT '';

-- The analysis that came beside the score, compressed, and its file name.
ALTER TABLE members ADD COLUMN labels_name TEXT NOT NULL DEFAULT '';
ALTER TABLE members ADD COLUMN labels BYTEA;

-- The mended scores with what was changed in them.
ALTER TABLE results ADD COLUMN mending BYTEA;

-- +goose Down
ALTER TABLE results DROP COLUMN mending;
ALTER TABLE members DROP COLUMN labels;
ALTER TABLE members DROP COLUMN labels_name;
ALTER TABLE members DROP COLUMN place;
ALTER TABLE batches DROP COLUMN last_number;
