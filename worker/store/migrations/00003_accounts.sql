-- +goose Up

-- What an organization may have, 0 for no bound; retention in seconds.
ALTER TABLE organizations ADD COLUMN max_scores BIGINT NOT NULL DEFAULT 0;
ALTER TABLE organizations ADD COLUMN max_bytes BIGINT NOT NULL DEFAULT 0;
ALTER TABLE organizations ADD COLUMN max_open_batches BIGINT NOT NULL DEFAULT 0;
ALTER TABLE organizations ADD COLUMN retention BIGINT NOT NULL DEFAULT 0;

-- Of a key itself only the hash is kept.
CREATE TABLE api_keys (
    id              TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    name            TEXT NOT NULL,
    hash            TEXT NOT NULL UNIQUE,
    scopes          TEXT NOT NULL,
    created         BIGINT NOT NULL,
    expires         BIGINT NOT NULL DEFAULT 0,
    last_used       BIGINT NOT NULL DEFAULT 0,
    revoked         BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX api_keys_of_organization ON api_keys (organization_id, created);

-- +goose Down
DROP TABLE api_keys;
ALTER TABLE organizations DROP COLUMN retention;
ALTER TABLE organizations DROP COLUMN max_open_batches;
ALTER TABLE organizations DROP COLUMN max_bytes;
ALTER TABLE organizations DROP COLUMN max_scores;
