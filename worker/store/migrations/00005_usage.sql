-- +goose Up

-- What is stored of a batch and its results, compressed, in bytes. A score that
-- several batches share counts in each.
ALTER TABLE batches ADD COLUMN bytes BIGINT NOT NULL DEFAULT 0;
UPDATE batches SET bytes = (
    SELECT coalesce(sum(length(s.packed)), 0) FROM members m
    JOIN scores s ON s.organization_id = m.organization_id AND s.hash = m.score_hash WHERE m.batch_id = batches.id
) + (
    SELECT coalesce(sum(coalesce(length(r.report), 0) + coalesce(length(r.marked), 0) + coalesce(length(r.analysis), 0)), 0)
    FROM results r WHERE r.batch_id = batches.id
);

-- +goose Down
ALTER TABLE batches DROP COLUMN bytes;
