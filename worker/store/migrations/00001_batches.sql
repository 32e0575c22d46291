-- One text for both databases. What differs between them is avoided: moments are
-- microseconds since 1970 in BIGINT, numbers are handed out by the batch's row,
-- and BYTEA is to SQLite a name like any other, under which a blob stays a blob.

-- +goose Up
CREATE TABLE organizations (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    created BIGINT NOT NULL
);
INSERT INTO organizations (id, name, created) VALUES ('single-user', 'single user', 0);

CREATE TABLE batches (
    id              TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    state           TEXT NOT NULL CHECK (state IN ('open', 'closed', 'finished', 'canceled')),
    options         TEXT NOT NULL,
    created         BIGINT NOT NULL,
    closed          BIGINT NOT NULL DEFAULT 0,
    finished        BIGINT NOT NULL DEFAULT 0,
    total           BIGINT NOT NULL DEFAULT 0,
    waiting         BIGINT NOT NULL DEFAULT 0,
    done            BIGINT NOT NULL DEFAULT 0,
    failed          BIGINT NOT NULL DEFAULT 0,
    canceled        BIGINT NOT NULL DEFAULT 0,
    last_event      BIGINT NOT NULL DEFAULT 0,
    CHECK (total = waiting + done + failed + canceled)
);
CREATE INDEX batches_of_organization ON batches (organization_id, created);

CREATE TABLE scores (
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    hash            TEXT NOT NULL,
    size            BIGINT NOT NULL,
    packed          BYTEA NOT NULL,
    created         BIGINT NOT NULL,
    PRIMARY KEY (organization_id, hash)
);

CREATE TABLE members (
    batch_id        TEXT NOT NULL REFERENCES batches (id) ON DELETE CASCADE,
    number          BIGINT NOT NULL,
    organization_id TEXT NOT NULL,
    name            TEXT NOT NULL,
    score_hash      TEXT,
    state           TEXT NOT NULL CHECK (state IN ('waiting', 'done', 'failed', 'canceled')),
    PRIMARY KEY (batch_id, number),
    FOREIGN KEY (organization_id, score_hash) REFERENCES scores (organization_id, hash)
);
CREATE INDEX members_by_state ON members (batch_id, state, number);
CREATE INDEX members_by_score ON members (organization_id, score_hash);

CREATE TABLE results (
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    organization_id TEXT NOT NULL,
    engine          TEXT NOT NULL,
    report          BYTEA,
    marked          BYTEA,
    problem         TEXT,
    finished        BIGINT NOT NULL,
    PRIMARY KEY (batch_id, number),
    FOREIGN KEY (batch_id, number) REFERENCES members (batch_id, number) ON DELETE CASCADE,
    CHECK ((report IS NULL) <> (problem IS NULL))
);
CREATE INDEX results_by_time ON results (batch_id, finished);

CREATE TABLE events (
    batch_id        TEXT NOT NULL REFERENCES batches (id) ON DELETE CASCADE,
    id              BIGINT NOT NULL,
    organization_id TEXT NOT NULL,
    kind            TEXT NOT NULL,
    data            TEXT NOT NULL,
    created         BIGINT NOT NULL,
    PRIMARY KEY (batch_id, id)
);

CREATE TABLE idempotency_keys (
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    key             TEXT NOT NULL,
    fingerprint     TEXT NOT NULL,
    answer          TEXT NOT NULL,
    created         BIGINT NOT NULL,
    PRIMARY KEY (organization_id, key)
);
CREATE INDEX idempotency_keys_by_time ON idempotency_keys (created);

CREATE TABLE workers (
    id   TEXT PRIMARY KEY,
    seen BIGINT NOT NULL
);

-- +goose Down
DROP TABLE workers;
DROP TABLE idempotency_keys;
DROP TABLE events;
DROP TABLE results;
DROP TABLE members;
DROP TABLE scores;
DROP TABLE batches;
DROP TABLE organizations;
