-- +goose Up

-- When work on a batch began, how long its scores took together, and the slowest of them
-- with its number; times are microseconds, 0 where an earlier version did the work.
ALTER TABLE batches ADD COLUMN started BIGINT NOT NULL DEFAULT 0;
ALTER TABLE batches ADD COLUMN worked BIGINT NOT NULL DEFAULT 0;
ALTER TABLE batches ADD COLUMN slowest BIGINT NOT NULL DEFAULT 0;
ALTER TABLE batches ADD COLUMN slowest_number BIGINT NOT NULL DEFAULT 0;

-- When the last copy of the database was made, in microseconds since 1970: a row that
-- whatever makes copies writes.
CREATE TABLE backups (
    id   BIGINT PRIMARY KEY CHECK (id = 1),
    made BIGINT NOT NULL
);

-- +goose Down
DROP TABLE backups;
ALTER TABLE batches DROP COLUMN slowest_number;
ALTER TABLE batches DROP COLUMN slowest;
ALTER TABLE batches DROP COLUMN worked;
ALTER TABLE batches DROP COLUMN started;
