-- +goose Up

-- What was found in scores that have an answer, a row each, so that all batches of an
-- organization can be asked at once. The rows are written with the answer and deleted
-- with it. They have no foreign keys: looking up the parent of each row costs more than
-- writing it, and whoever deletes answers deletes these under the lock of the batch.
-- A batch is searched while every answer in it has its rows.
ALTER TABLE batches ADD COLUMN searched BIGINT NOT NULL DEFAULT 0;

-- When a batch was deleted. Nobody finds it from then on; what is in it goes in steps.
ALTER TABLE batches ADD COLUMN deleted BIGINT NOT NULL DEFAULT 0;

CREATE TABLE found_scores (
    organization_id TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    file            TEXT NOT NULL,
    outcome         TEXT NOT NULL,
    problem         TEXT NOT NULL,
    title           TEXT NOT NULL,
    composer        TEXT NOT NULL,
    key             TEXT NOT NULL,
    mode            TEXT NOT NULL,
    texture         TEXT NOT NULL,
    voices          BIGINT NOT NULL,
    measures        BIGINT NOT NULL,
    notes           BIGINT NOT NULL,
    faults          BIGINT NOT NULL,
    cautions        BIGINT NOT NULL,
    remarks         BIGINT NOT NULL,
    shape           TEXT NOT NULL,
    engine          TEXT NOT NULL,
    rule_set        TEXT NOT NULL,
    PRIMARY KEY (organization_id, batch_id, number)
);
CREATE INDEX found_scores_by_key ON found_scores (organization_id, key, batch_id, number);
CREATE INDEX found_scores_by_shape ON found_scores (organization_id, shape, batch_id, number);

-- The words of title, composer and file name.
CREATE TABLE found_words (
    organization_id TEXT NOT NULL,
    word            TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    in_title        BIGINT NOT NULL,
    PRIMARY KEY (organization_id, word, batch_id, number)
);
CREATE INDEX found_words_of_score ON found_words (batch_id, number);

CREATE TABLE found_findings (
    organization_id TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    position        BIGINT NOT NULL,
    rule            TEXT NOT NULL,
    family          TEXT NOT NULL,
    severity        TEXT NOT NULL,
    voices          TEXT NOT NULL,
    key             TEXT NOT NULL,
    mode            TEXT NOT NULL,
    numeral         TEXT NOT NULL,
    measure         TEXT NOT NULL,
    beat            DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (organization_id, batch_id, number, position)
);
CREATE INDEX found_findings_by_rule ON found_findings (organization_id, rule, batch_id, number, position);
CREATE INDEX found_findings_by_voices ON found_findings (organization_id, voices, batch_id, number, position);
CREATE INDEX found_findings_by_key ON found_findings (organization_id, key, batch_id, number, position);
CREATE INDEX found_findings_by_numeral ON found_findings (organization_id, numeral, batch_id, number, position);

-- A trail is the numeral with those before it in the same key, backwards, with a blank
-- after each: a succession is the beginning of a trail. It is BYTEA so that both
-- databases order it by its bytes.
CREATE TABLE found_harmonies (
    organization_id TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    position        BIGINT NOT NULL,
    key             TEXT NOT NULL,
    mode            TEXT NOT NULL,
    numeral         TEXT NOT NULL,
    trail           BYTEA NOT NULL,
    cadence         TEXT NOT NULL,
    formula         TEXT NOT NULL,
    measure         TEXT NOT NULL,
    beat            DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (organization_id, batch_id, number, position)
);
CREATE INDEX found_harmonies_by_trail ON found_harmonies (organization_id, trail, batch_id, number, position);
CREATE INDEX found_harmonies_by_key ON found_harmonies (organization_id, key, batch_id, number, position);
CREATE INDEX found_harmonies_by_cadence ON found_harmonies (organization_id, cadence, batch_id, number, position) WHERE cadence <> '';

-- How many rows of a batch are alike: of findings by rule, family, severity and mode, of
-- harmonies by numeral, mode and cadence, of scores by outcome, key, mode and texture.
CREATE TABLE found_counts (
    organization_id TEXT NOT NULL,
    kind            TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    a               TEXT NOT NULL,
    b               TEXT NOT NULL,
    c               TEXT NOT NULL,
    d               TEXT NOT NULL,
    n               BIGINT NOT NULL,
    measures        BIGINT NOT NULL,
    PRIMARY KEY (organization_id, kind, batch_id, a, b, c, d)
);

-- +goose Down
DROP TABLE found_counts;
DROP TABLE found_harmonies;
DROP TABLE found_findings;
DROP TABLE found_words;
DROP TABLE found_scores;
ALTER TABLE batches DROP COLUMN deleted;
ALTER TABLE batches DROP COLUMN searched;
