-- +goose Up

-- What this service and a learning system know of one another (1EdTech LTI 1.3).
CREATE TABLE lti_registrations (
    id                TEXT PRIMARY KEY,
    organization_id   TEXT NOT NULL REFERENCES organizations (id),
    issuer            TEXT NOT NULL,
    client_id         TEXT NOT NULL,
    authorization_url TEXT NOT NULL,
    token_url         TEXT NOT NULL,
    keys_url          TEXT NOT NULL,
    token_audience    TEXT NOT NULL DEFAULT '',
    created           BIGINT NOT NULL,
    UNIQUE (issuer, client_id)
);

CREATE TABLE lti_deployments (
    registration_id TEXT NOT NULL REFERENCES lti_registrations (id) ON DELETE CASCADE,
    deployment_id   TEXT NOT NULL,
    created         BIGINT NOT NULL,
    PRIMARY KEY (registration_id, deployment_id)
);

-- A login that was begun: its state and nonce count once.
CREATE TABLE lti_logins (
    state           TEXT PRIMARY KEY,
    registration_id TEXT NOT NULL REFERENCES lti_registrations (id) ON DELETE CASCADE,
    nonce           TEXT NOT NULL,
    browser         TEXT NOT NULL,
    deployment_id   TEXT NOT NULL DEFAULT '',
    storage_target  TEXT NOT NULL DEFAULT '',
    again           TEXT NOT NULL DEFAULT '',
    used            BIGINT NOT NULL DEFAULT 0,
    expires         BIGINT NOT NULL
);
CREATE INDEX lti_logins_by_time ON lti_logins (expires);

-- The keys of this service. They stand here in clear: what is sent must be signed
-- with them.
CREATE TABLE lti_keys (
    id      TEXT PRIMARY KEY,
    private TEXT NOT NULL,
    created BIGINT NOT NULL
);

-- Who has the secret of such a row may register a learning system, once.
CREATE TABLE lti_invitations (
    hash            TEXT PRIMARY KEY,
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    expires         BIGINT NOT NULL
);

-- What somebody was let in for by a launch.
CREATE TABLE lti_sessions (
    hash            TEXT PRIMARY KEY,
    registration_id TEXT NOT NULL REFERENCES lti_registrations (id) ON DELETE CASCADE,
    message         TEXT NOT NULL,
    expires         BIGINT NOT NULL
);
CREATE INDEX lti_sessions_by_time ON lti_sessions (expires);

-- The latest score of a pupil, under the learning system's opaque reference, for a
-- column of its gradebook. Moments of scores are milliseconds since 1970, as they are
-- sent.
CREATE TABLE lti_scores (
    id              TEXT PRIMARY KEY,
    registration_id TEXT NOT NULL REFERENCES lti_registrations (id) ON DELETE CASCADE,
    line_item       TEXT NOT NULL,
    pupil           TEXT NOT NULL,
    stamp           BIGINT NOT NULL,
    released        BIGINT NOT NULL,
    given           DOUBLE PRECISION NOT NULL DEFAULT 0,
    maximum         DOUBLE PRECISION NOT NULL DEFAULT 0,
    comment         TEXT NOT NULL DEFAULT '',
    readable        BIGINT NOT NULL DEFAULT 0,
    state           TEXT NOT NULL CHECK (state IN ('waiting', 'published', 'failed')),
    begun           BIGINT NOT NULL DEFAULT 0,
    failure         TEXT NOT NULL DEFAULT '',
    UNIQUE (registration_id, line_item, pupil)
);

-- +goose Down
DROP TABLE lti_scores;
DROP TABLE lti_sessions;
DROP TABLE lti_invitations;
DROP TABLE lti_keys;
DROP TABLE lti_logins;
DROP TABLE lti_deployments;
DROP TABLE lti_registrations;
