-- +goose Up

-- The last turn that an organization was given in a line of one priority.
CREATE TABLE turns (
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    line            TEXT NOT NULL,
    priority        BIGINT NOT NULL,
    turn            BIGINT NOT NULL,
    PRIMARY KEY (organization_id, line, priority)
);

-- The worker that still receives the scores of the batch, '' once all are there.
ALTER TABLE batches ADD COLUMN receiver TEXT NOT NULL DEFAULT '';

-- What the answer was made with (engine, options), and whether it was copied
-- from an earlier one to the same score and recipe.
ALTER TABLE results ADD COLUMN recipe TEXT NOT NULL DEFAULT '';
ALTER TABLE results ADD COLUMN reused BIGINT NOT NULL DEFAULT 0;
ALTER TABLE results ADD COLUMN analysis BYTEA;

-- +goose Down
ALTER TABLE results DROP COLUMN analysis;
ALTER TABLE results DROP COLUMN reused;
ALTER TABLE results DROP COLUMN recipe;
ALTER TABLE batches DROP COLUMN receiver;
DROP TABLE turns;
