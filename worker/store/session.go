package store

import (
	"context"
	"crypto/rand"
	"strings"
	"time"
)

// Session is a browser that is signed in, or, until it has begun, the link that will sign
// one in. The text that opens it is not kept.
type Session struct {
	ID, Organization string
	// Key is the id of the key that the session lives and dies with, "" for one that
	// something else has begun.
	Key string
	// Hash finds the session; see package account.
	Hash string
	// Role and Subject say as whom the browser acts; see package account. The subject
	// means something to whoever began the session, and nothing here.
	Role, Subject string
	// Assignment is the one that the session is for, "" for any.
	Assignment string
	Scopes     []string
	// Begun and LastUsed are zero for never. A link expires unused, a session ends.
	Created, Begun, Expires, LastUsed time.Time
}

const sessionColumns = `id, organization_id, COALESCE(key_id, ''), hash, role, subject, assignment, scopes, created, begun, expires, last_used`

func scanSession(r row, v *Session) error {
	var scopes string
	var created, begun, expires, used int64
	err := r.Scan(&v.ID, &v.Organization, &v.Key, &v.Hash, &v.Role, &v.Subject, &v.Assignment, &scopes, &created, &begun, &expires, &used)
	v.Scopes = strings.Fields(scopes)
	v.Created, v.Begun, v.Expires, v.LastUsed = moment(created), moment(begun), moment(expires), moment(used)
	return err
}

// CreateSession writes a session or a link and gives it an id. The error is [ErrNotFound]
// if there is no such organization.
func (s *Store) CreateSession(ctx context.Context, tx Tx, v Session) (Session, error) {
	if _, err := holdOrganization(ctx, tx, v.Organization); err != nil {
		return v, err
	}
	v.ID, v.Created = rand.Text(), moment(micros(s.now()))
	var key any
	if v.Key != "" {
		key = v.Key
	}
	_, err := tx.exec(ctx, `INSERT INTO sessions (id, organization_id, key_id, hash, role, subject, assignment, scopes, created, begun, expires, last_used)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $10)`,
		v.ID, v.Organization, key, v.Hash, v.Role, v.Subject, v.Assignment, strings.Join(v.Scopes, " "), micros(v.Created), micros(v.Begun), micros(v.Expires))
	return v, err
}

// BeginSession turns a link that nobody has used into a session that another text opens,
// and lasts until expires. Of two who try at once, one gets it; the error is [ErrNotFound]
// for the other, and for a link that was used or is too old.
func (s *Store) BeginSession(ctx context.Context, tx Tx, link, hash string, expires time.Time) (*Session, error) {
	var v *Session
	err := tx.each(ctx, func(r row) error {
		v = &Session{}
		return scanSession(r, v)
	}, `UPDATE sessions SET hash = $1, begun = $2, last_used = $2, expires = $3 WHERE hash = $4 AND begun = 0 AND expires > $2
		RETURNING `+sessionColumns, hash, micros(s.now()), micros(expires), link)
	if err == nil && v == nil {
		err = ErrNotFound
	}
	return v, err
}

// SessionByHash finds a session that has begun, whether or not it has ended.
func SessionByHash(ctx context.Context, tx Tx, hash string) (*Session, error) {
	var v *Session
	err := tx.each(ctx, func(r row) error {
		v = &Session{}
		return scanSession(r, v)
	}, `SELECT `+sessionColumns+` FROM sessions WHERE hash = $1 AND begun > 0`, hash)
	if err == nil && v == nil {
		err = ErrNotFound
	}
	return v, err
}

// UseSession notes when a session was last used.
func UseSession(ctx context.Context, tx Tx, id string, at time.Time) error {
	_, err := tx.exec(ctx, `UPDATE sessions SET last_used = $1 WHERE id = $2 AND last_used < $1`, micros(at), id)
	return err
}

// DeleteSession ends a session; one that is not there is no error.
func DeleteSession(ctx context.Context, tx Tx, id string) error {
	_, err := tx.exec(ctx, `DELETE FROM sessions WHERE id = $1`, id)
	return err
}

// DeleteOldSessions takes away the sessions of a key beyond the newest so many.
func DeleteOldSessions(ctx context.Context, tx Tx, key string, newest int) error {
	_, err := tx.exec(ctx, `DELETE FROM sessions WHERE key_id = $1 AND id NOT IN (
		SELECT id FROM sessions WHERE key_id = $1 ORDER BY created DESC, id LIMIT $2)`, key, newest)
	return err
}

// ForgetSessions takes away sessions and links that have expired, and sessions that were
// last used before a moment.
func (s *Store) ForgetSessions(ctx context.Context, tx Tx, idle time.Time) (int64, error) {
	return tx.exec(ctx, `DELETE FROM sessions WHERE expires <= $1 OR (begun > 0 AND last_used <= $2)`, micros(s.now()), micros(idle))
}
