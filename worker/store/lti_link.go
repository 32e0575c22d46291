package store

import "context"

// LTILink is a link of a learning system that opens an assignment.
type LTILink struct {
	// Registration, Deployment and Link together name it.
	Registration, Deployment, Link string
	Assignment                     string
	// LineItem is the address of its column in the gradebook, "" for none; Readable tells
	// that we may read what stands there.
	LineItem string
	Readable bool
}

// LTIPupil is somebody who came by a link.
type LTIPupil struct {
	LTILink
	// Pupil is the learning system's opaque reference, Reference ours.
	Pupil, Reference string
}

// KeepLTILink writes what a link is for, in place of what it was for before.
func KeepLTILink(ctx context.Context, tx Tx, l LTILink) error {
	_, err := tx.exec(ctx, `INSERT INTO lti_links (registration_id, deployment_id, link, assignment_id, line_item, readable) VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT (registration_id, deployment_id, link) DO UPDATE SET assignment_id = $4, line_item = $5, readable = $6`,
		l.Registration, l.Deployment, l.Link, l.Assignment, l.LineItem, flag(l.Readable))
	return err
}

// LTILinkOf finds what a link is for.
func LTILinkOf(ctx context.Context, tx Tx, registration, deployment, link string) (*LTILink, error) {
	l := &LTILink{Registration: registration, Deployment: deployment, Link: link}
	var readable int64
	err := one(ctx, tx, []any{&l.Assignment, &l.LineItem, &readable},
		`SELECT assignment_id, line_item, readable FROM lti_links WHERE registration_id = $1 AND deployment_id = $2 AND link = $3`, registration, deployment, link)
	l.Readable = readable != 0
	return l, err
}

// KeepLTIPupil writes who came by a link.
func KeepLTIPupil(ctx context.Context, tx Tx, p LTIPupil) error {
	_, err := tx.exec(ctx, `INSERT INTO lti_pupils (registration_id, deployment_id, link, pupil, reference) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT DO NOTHING`, p.Registration, p.Deployment, p.Link, p.Pupil, p.Reference)
	return err
}

// LTIPupils lists who came to an assignment by links.
func LTIPupils(ctx context.Context, tx Tx, assignment string) ([]LTIPupil, error) {
	var all []LTIPupil
	err := tx.each(ctx, func(r row) error {
		p := LTIPupil{LTILink: LTILink{Assignment: assignment}}
		var readable int64
		err := r.Scan(&p.Registration, &p.Deployment, &p.Link, &p.LineItem, &readable, &p.Pupil, &p.Reference)
		p.Readable = readable != 0
		all = append(all, p)
		return err
	}, `SELECT l.registration_id, l.deployment_id, l.link, l.line_item, l.readable, p.pupil, p.reference
		FROM lti_links l JOIN lti_pupils p ON p.registration_id = l.registration_id AND p.deployment_id = l.deployment_id AND p.link = l.link
		WHERE l.assignment_id = $1 ORDER BY p.reference, l.registration_id, l.deployment_id, l.link`, assignment)
	return all, err
}

// ForgetLTIReference deletes what ties a reference at an assignment to a pupil of a learning
// system, and the scores that were sent for it.
func ForgetLTIReference(ctx context.Context, tx Tx, assignment, reference string) error {
	all, err := LTIPupils(ctx, tx, assignment)
	if err != nil {
		return err
	}
	for i := range all {
		p := &all[i]
		if p.Reference != reference {
			continue
		}
		_, err := tx.exec(ctx, `DELETE FROM lti_scores WHERE registration_id = $1 AND line_item = $2 AND pupil = $3`, p.Registration, p.LineItem, p.Pupil)
		if err == nil {
			_, err = tx.exec(ctx, `DELETE FROM lti_pupils WHERE registration_id = $1 AND deployment_id = $2 AND link = $3 AND pupil = $4`,
				p.Registration, p.Deployment, p.Link, p.Pupil)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// LTIOrigins lists the addresses for logins of all learning systems.
func LTIOrigins(ctx context.Context, tx Tx) ([]string, error) {
	var all []string
	err := tx.each(ctx, func(r row) error {
		var address string
		err := r.Scan(&address)
		all = append(all, address)
		return err
	}, `SELECT DISTINCT authorization_url FROM lti_registrations ORDER BY authorization_url`)
	return all, err
}
