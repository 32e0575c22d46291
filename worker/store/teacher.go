package store

import "context"

// AddTeacher gives an assignment to somebody who teaches, by a text that means something to
// whoever knows people, and nothing here.
func AddTeacher(ctx context.Context, tx Tx, assignment, teacher string) error {
	_, err := tx.exec(ctx, `INSERT INTO assignment_teachers (assignment_id, teacher) VALUES ($1, $2) ON CONFLICT DO NOTHING`, assignment, teacher)
	return err
}

// RemoveTeacher takes an assignment from somebody. The error is [ErrNotFound] if it was not
// given to them.
func RemoveTeacher(ctx context.Context, tx Tx, assignment, teacher string) error {
	n, err := tx.exec(ctx, `DELETE FROM assignment_teachers WHERE assignment_id = $1 AND teacher = $2`, assignment, teacher)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	return err
}

// Teachers lists who an assignment is given to; one that is given to nobody is for everybody
// who teaches in its organization.
func Teachers(ctx context.Context, tx Tx, assignment string) ([]string, error) {
	return taught(ctx, tx, `SELECT teacher FROM assignment_teachers WHERE assignment_id = $1 ORDER BY teacher`, assignment)
}

// TaughtBy lists the assignments that are given to somebody.
func TaughtBy(ctx context.Context, tx Tx, organization, teacher string) ([]string, error) {
	return taught(ctx, tx, `SELECT t.assignment_id FROM assignment_teachers t JOIN assignments a ON a.id = t.assignment_id
		WHERE a.organization_id = $1 AND t.teacher = $2 ORDER BY t.assignment_id`, organization, teacher)
}

// TaughtByAll lists the assignments that are given to nobody.
func TaughtByAll(ctx context.Context, tx Tx, organization string) ([]string, error) {
	return taught(ctx, tx, `SELECT a.id FROM assignments a WHERE a.organization_id = $1
		AND NOT EXISTS (SELECT 1 FROM assignment_teachers t WHERE t.assignment_id = a.id) ORDER BY a.id`, organization)
}

func taught(ctx context.Context, tx Tx, statement string, args ...any) ([]string, error) {
	all := []string{}
	err := tx.each(ctx, func(r row) error {
		var one string
		err := r.Scan(&one)
		all = append(all, one)
		return err
	}, statement, args...)
	return all, err
}
