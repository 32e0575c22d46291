-- +goose Up

-- Parts of answers, each once for an organization: results hold the name, which is made
-- of length and SHA-256 of what is packed, and uses counts the places where it stands.
-- Parts that earlier versions wrote stand in the results themselves, and stay there. What
-- is packed comes last, so that SQLite counts without reading it.
CREATE TABLE blobs (
    organization_id TEXT NOT NULL REFERENCES organizations (id),
    name            BYTEA NOT NULL,
    uses            BIGINT NOT NULL,
    packed          BYTEA NOT NULL,
    PRIMARY KEY (organization_id, name)
);

-- Where what is packed lies outside the database, blobs and scores hold its place. One
-- whose row is gone waits here until it is removed there. Places are never used again.
CREATE TABLE removals (
    place BYTEA PRIMARY KEY
);

-- The storage outside: what its mark says, whether anything was ever put there, and the
-- address after which to look next for what belongs to no row.
CREATE TABLE blob_storage (
    id      BIGINT PRIMARY KEY CHECK (id = 1),
    mark    TEXT NOT NULL,
    address TEXT NOT NULL,
    used    BIGINT NOT NULL DEFAULT 0,
    swept   TEXT NOT NULL DEFAULT ''
);

-- +goose Down
UPDATE results SET
    report = coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = results.organization_id AND x.name = results.report), report),
    marked = coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = results.organization_id AND x.name = results.marked), marked),
    analysis = coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = results.organization_id AND x.name = results.analysis), analysis),
    mending = coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = results.organization_id AND x.name = results.mending), mending),
    voicing = coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = results.organization_id AND x.name = results.voicing), voicing);
DROP TABLE blob_storage;
DROP TABLE removals;
DROP TABLE blobs;
