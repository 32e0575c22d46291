-- +goose Up

-- Where an organization is told of events. The secrets stand here in clear: what
-- is sent must be signed with them.
CREATE TABLE webhooks (
    id              TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    url             TEXT NOT NULL,
    kinds           TEXT NOT NULL,
    secret          TEXT NOT NULL,
    former_secret   TEXT NOT NULL DEFAULT '',
    former_until    BIGINT NOT NULL DEFAULT 0,
    off_because     TEXT NOT NULL DEFAULT '',
    created         BIGINT NOT NULL
);
CREATE INDEX webhooks_of_organization ON webhooks (organization_id, created);

-- A message on its way to one webhook.
CREATE TABLE deliveries (
    id              TEXT PRIMARY KEY,
    webhook_id      TEXT NOT NULL REFERENCES webhooks (id) ON DELETE CASCADE,
    organization_id TEXT NOT NULL,
    message_id      TEXT NOT NULL,
    kind            TEXT NOT NULL,
    payload         TEXT NOT NULL,
    state           TEXT NOT NULL CHECK (state IN ('waiting', 'delivered', 'failed')),
    attempts        BIGINT NOT NULL DEFAULT 0,
    next_attempt    BIGINT NOT NULL DEFAULT 0,
    created         BIGINT NOT NULL
);
CREATE INDEX deliveries_of_webhook ON deliveries (webhook_id, created, id);
CREATE INDEX deliveries_by_time ON deliveries (created);

CREATE TABLE attempts (
    delivery_id TEXT NOT NULL REFERENCES deliveries (id) ON DELETE CASCADE,
    number      BIGINT NOT NULL,
    begun       BIGINT NOT NULL,
    took        BIGINT NOT NULL,
    status      BIGINT NOT NULL,
    failure     TEXT NOT NULL,
    PRIMARY KEY (delivery_id, number)
);

-- +goose Down
DROP TABLE attempts;
DROP TABLE deliveries;
DROP TABLE webhooks;
