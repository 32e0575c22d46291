-- +goose Up

-- An exercise that is set to a class: what it is as JSON, with its sheets and files.
CREATE TABLE assignments (
    id              TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    content         BYTEA NOT NULL,
    created         BIGINT NOT NULL,
    last_entry      BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX assignments_of_organization ON assignments (organization_id, created, id);

-- What was handed in, and what came of it. A reference is all that is kept of a pupil.
CREATE TABLE hand_ins (
    assignment_id   TEXT NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    organization_id TEXT NOT NULL,
    reference       TEXT NOT NULL,
    attempt         BIGINT NOT NULL,
    score           BYTEA NOT NULL,
    marking         BYTEA NOT NULL,
    marked          BYTEA,
    received        BIGINT NOT NULL,
    PRIMARY KEY (assignment_id, reference, attempt)
);

-- What was decided, by whom and when. Rows are added and never changed, but for the
-- reference of a pupil that is forgotten.
CREATE TABLE class_entries (
    assignment_id   TEXT NOT NULL REFERENCES assignments (id) ON DELETE CASCADE,
    organization_id TEXT NOT NULL,
    number          BIGINT NOT NULL,
    reference       TEXT NOT NULL,
    content         TEXT NOT NULL,
    PRIMARY KEY (assignment_id, number)
);

-- +goose Down
DROP TABLE class_entries;
DROP TABLE hand_ins;
DROP TABLE assignments;
