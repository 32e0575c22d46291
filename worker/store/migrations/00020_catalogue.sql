-- +goose Up

-- What the owner of a collection knows of the scores in a batch, by the columns of a
-- catalogue. The rows go with the scores.
CREATE TABLE catalogue (
    organization_id TEXT NOT NULL,
    batch_id        TEXT NOT NULL,
    number          BIGINT NOT NULL,
    name            TEXT NOT NULL,
    value           TEXT NOT NULL,
    PRIMARY KEY (batch_id, number, name),
    FOREIGN KEY (batch_id, number) REFERENCES members (batch_id, number) ON DELETE CASCADE
);
CREATE UNIQUE INDEX catalogue_by_value ON catalogue (organization_id, name, value, batch_id, number);

-- +goose Down
DROP TABLE catalogue;
