package store

import "context"

// TakeTurns gives an organization the next n turns in a line of one priority, all
// of them after the turn now and after those it was given before, and returns the
// last of them.
func TakeTurns(ctx context.Context, tx Tx, organization, line string, priority int, now, n int64) (last int64, err error) {
	err = one(ctx, tx, []any{&last}, `INSERT INTO turns (organization_id, line, priority, turn) VALUES ($1, $2, $3, $4)
		ON CONFLICT (organization_id, line, priority) DO UPDATE
		SET turn = $5 + CASE WHEN turns.turn > $6 THEN turns.turn ELSE $6 END RETURNING turn`,
		organization, line, priority, now+n, n, now)
	return last, err
}

// LastTurn is the last turn that any organization was given.
func LastTurn(ctx context.Context, tx Tx, line string, priority int) (last int64, err error) {
	err = one(ctx, tx, []any{&last}, `SELECT coalesce(max(turn), 0) FROM turns WHERE line = $1 AND priority = $2`, line, priority)
	return last, err
}

// WaitingInSmall counts the scores that wait in those batches of at most so many
// scores, and as many of the newest, that an organization has beside one.
func WaitingInSmall(ctx context.Context, tx Tx, organization, beside string, most int) (n int64, err error) {
	err = one(ctx, tx, []any{&n}, `SELECT CAST(coalesce(sum(waiting), 0) AS BIGINT) FROM (SELECT waiting, total FROM batches
		WHERE organization_id = $1 AND id <> $2 AND deleted = 0 ORDER BY created DESC LIMIT $3) AS newest WHERE total <= $3`,
		organization, beside, int64(most))
	return n, err
}
