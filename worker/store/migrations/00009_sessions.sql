-- +goose Up

-- Browsers that are signed in, and links that sign one in: a link is a session that
-- nobody has begun. Of the text that opens either only the hash is kept. A session without
-- a key is begun by something else that knows who comes.
CREATE TABLE sessions (
    id              TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    key_id          TEXT REFERENCES api_keys (id),
    hash            TEXT NOT NULL UNIQUE,
    role            TEXT NOT NULL,
    subject         TEXT NOT NULL DEFAULT '',
    scopes          TEXT NOT NULL,
    created         BIGINT NOT NULL,
    begun           BIGINT NOT NULL DEFAULT 0,
    expires         BIGINT NOT NULL,
    last_used       BIGINT NOT NULL DEFAULT 0
);
CREATE INDEX sessions_of_organization ON sessions (organization_id);
CREATE INDEX sessions_of_key ON sessions (key_id, created);
CREATE INDEX sessions_by_end ON sessions (expires);

-- +goose Down
DROP TABLE sessions;
