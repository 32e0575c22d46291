package store

import (
	"context"
	"crypto/rand"
	"time"
)

// LTIRegistration is what an organization's learning system and this service know of
// one another (1EdTech LTI 1.3): issuer and client id together name it.
type LTIRegistration struct {
	ID, Organization string
	Issuer, ClientID string
	// Authorization, Token and Keys are the learning system's addresses for logins,
	// access tokens and public keys.
	Authorization, Token, Keys string
	// Audience is who a request for an access token is addressed to; "" for Token.
	Audience string
	Created  time.Time
}

// LTILogin is a login that was begun. State and nonce count once.
type LTILogin struct {
	State, Registration, Nonce string
	// Browser is the hash of a secret that only the browser has where it began.
	Browser string
	// Deployment is the one that was named, "" for none.
	Deployment string
	// Storage is the frame of the learning system that stores data for us, "" for none.
	Storage string
	// Again is the query that began the login.
	Again string
	Used  bool
	// Expires is when the login is forgotten.
	Expires time.Time
}

// LTIKey is a key pair of this service, PKCS #8 in PEM.
type LTIKey struct {
	ID, Private string
	Created     time.Time
}

// LTISession is what a launch let somebody in for. Message is for the package that
// reads launches.
type LTISession struct {
	Hash, Registration string
	Message            []byte
	Expires            time.Time
}

const ltiRegistrationColumns = `id, organization_id, issuer, client_id, authorization_url, token_url, keys_url, token_audience, created`

func ltiRegistrations(ctx context.Context, tx Tx, which string, args ...any) ([]LTIRegistration, error) {
	var all []LTIRegistration
	err := tx.each(ctx, func(r row) error {
		var l LTIRegistration
		var created int64
		err := r.Scan(&l.ID, &l.Organization, &l.Issuer, &l.ClientID, &l.Authorization, &l.Token, &l.Keys, &l.Audience, &created)
		l.Created = moment(created)
		all = append(all, l)
		return err
	}, `SELECT `+ltiRegistrationColumns+` FROM lti_registrations `+which, args...)
	return all, err
}

// AddLTIRegistration writes a registration with the deployments known of it, and gives
// it an id. One of the same issuer and client id takes the new addresses and further
// deployments if it is the organization's; else the error is [ErrNotFound].
func (s *Store) AddLTIRegistration(ctx context.Context, tx Tx, l LTIRegistration, deployments ...string) (*LTIRegistration, error) {
	l.ID, l.Created = rand.Text(), moment(micros(s.now()))
	n, err := tx.exec(ctx, `INSERT INTO lti_registrations (`+ltiRegistrationColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
		ON CONFLICT (issuer, client_id) DO UPDATE SET authorization_url = $5, token_url = $6, keys_url = $7, token_audience = $8
		WHERE lti_registrations.organization_id = $2`,
		l.ID, l.Organization, l.Issuer, l.ClientID, l.Authorization, l.Token, l.Keys, l.Audience, micros(l.Created))
	if err == nil && n == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	all, err := ltiRegistrations(ctx, tx, `WHERE issuer = $1 AND client_id = $2`, l.Issuer, l.ClientID)
	if err != nil {
		return nil, err
	}
	for _, deployment := range deployments {
		if err := s.AddLTIDeployment(ctx, tx, all[0].ID, deployment); err != nil {
			return nil, err
		}
	}
	return &all[0], nil
}

// LTIRegistrationsOf lists the registrations of an organization, the oldest first.
func LTIRegistrationsOf(ctx context.Context, tx Tx, organization string) ([]LTIRegistration, error) {
	return ltiRegistrations(ctx, tx, `WHERE organization_id = $1 ORDER BY created, id`, organization)
}

// LTIRegistrationsFrom lists those of an issuer; a client id that is not "" picks one.
func LTIRegistrationsFrom(ctx context.Context, tx Tx, issuer, client string) ([]LTIRegistration, error) {
	return ltiRegistrations(ctx, tx, `WHERE issuer = $1 AND ($2 = '' OR client_id = $2) ORDER BY created, id`, issuer, client)
}

// LTIRegistrationByID finds a registration.
func LTIRegistrationByID(ctx context.Context, tx Tx, id string) (*LTIRegistration, error) {
	all, err := ltiRegistrations(ctx, tx, `WHERE id = $1`, id)
	if err == nil && len(all) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return &all[0], nil
}

// DeleteLTIRegistration takes a registration of an organization away with all that
// came of it: deployments, sessions, scores.
func DeleteLTIRegistration(ctx context.Context, tx Tx, organization, id string) error {
	n, err := tx.exec(ctx, `DELETE FROM lti_registrations WHERE id = $1 AND organization_id = $2`, id, organization)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	return err
}

// AddLTIDeployment makes a deployment known; one that is known stays.
func (s *Store) AddLTIDeployment(ctx context.Context, tx Tx, registration, deployment string) error {
	_, err := tx.exec(ctx, `INSERT INTO lti_deployments (registration_id, deployment_id, created) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`,
		registration, deployment, micros(s.now()))
	return err
}

// KnowsLTIDeployment reports whether a deployment is known.
func KnowsLTIDeployment(ctx context.Context, tx Tx, registration, deployment string) (bool, error) {
	var n int64
	err := one(ctx, tx, []any{&n}, `SELECT count(*) FROM lti_deployments WHERE registration_id = $1 AND deployment_id = $2`, registration, deployment)
	return n == 1, err
}

// AddLTILogin writes a login and forgets those that have expired.
func (s *Store) AddLTILogin(ctx context.Context, tx Tx, l LTILogin) error {
	if _, err := tx.exec(ctx, `DELETE FROM lti_logins WHERE expires < $1`, micros(s.now())); err != nil {
		return err
	}
	_, err := tx.exec(ctx, `INSERT INTO lti_logins (state, registration_id, nonce, browser, deployment_id, storage_target, again, expires)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		l.State, l.Registration, l.Nonce, l.Browser, l.Deployment, l.Storage, l.Again, micros(l.Expires))
	return err
}

// LTILoginByState finds a login that has not expired, used or not.
func (s *Store) LTILoginByState(ctx context.Context, tx Tx, state string) (*LTILogin, error) {
	l := &LTILogin{State: state}
	var used, expires int64
	err := one(ctx, tx, []any{&l.Registration, &l.Nonce, &l.Browser, &l.Deployment, &l.Storage, &l.Again, &used, &expires},
		`SELECT registration_id, nonce, browser, deployment_id, storage_target, again, used, expires FROM lti_logins
		WHERE state = $1 AND expires >= $2`, state, micros(s.now()))
	l.Used, l.Expires = used != 0, moment(expires)
	return l, err
}

// UseLTILogin uses a login; false if it was used before. Of several at once one is true.
func (s *Store) UseLTILogin(ctx context.Context, tx Tx, state string) (bool, error) {
	n, err := tx.exec(ctx, `UPDATE lti_logins SET used = $1 WHERE state = $2 AND used = 0`, micros(s.now()), state)
	return n == 1, err
}

// LTIKeys lists the keys of this service, the oldest first.
func LTIKeys(ctx context.Context, tx Tx) ([]LTIKey, error) {
	var all []LTIKey
	err := tx.each(ctx, func(r row) error {
		var k LTIKey
		var created int64
		err := r.Scan(&k.ID, &k.Private, &created)
		k.Created = moment(created)
		all = append(all, k)
		return err
	}, `SELECT id, private, created FROM lti_keys ORDER BY created, id`)
	return all, err
}

// AddLTIKey writes a key pair and takes those away that are older than a moment.
func AddLTIKey(ctx context.Context, tx Tx, k LTIKey, before time.Time) error {
	if _, err := tx.exec(ctx, `DELETE FROM lti_keys WHERE created < $1`, micros(before)); err != nil {
		return err
	}
	_, err := tx.exec(ctx, `INSERT INTO lti_keys (id, private, created) VALUES ($1, $2, $3)`, k.ID, k.Private, micros(k.Created))
	return err
}

// AddLTIInvitation lets whoever has the secret behind a hash register a learning system
// of an organization.
func AddLTIInvitation(ctx context.Context, tx Tx, organization, hash string, expires time.Time) error {
	if _, err := holdOrganization(ctx, tx, organization); err != nil {
		return err
	}
	_, err := tx.exec(ctx, `INSERT INTO lti_invitations (hash, organization_id, expires) VALUES ($1, $2, $3)`, hash, organization, micros(expires))
	return err
}

// LTIInvitation finds whose learning system may be registered with a hash; used takes
// the invitation away. The error is [ErrNotFound] if there is none, or it has expired.
func (s *Store) LTIInvitation(ctx context.Context, tx Tx, hash string, used bool) (organization string, err error) {
	err = one(ctx, tx, []any{&organization}, `SELECT organization_id FROM lti_invitations WHERE hash = $1 AND expires >= $2`, hash, micros(s.now()))
	if err != nil || !used {
		return organization, err
	}
	n, err := tx.exec(ctx, `DELETE FROM lti_invitations WHERE hash = $1`, hash)
	if err == nil && n == 0 {
		err = ErrNotFound
	}
	return organization, err
}

// AddLTISession writes a session and forgets those that have expired.
func (s *Store) AddLTISession(ctx context.Context, tx Tx, l LTISession) error {
	if _, err := tx.exec(ctx, `DELETE FROM lti_sessions WHERE expires < $1`, micros(s.now())); err != nil {
		return err
	}
	_, err := tx.exec(ctx, `INSERT INTO lti_sessions (hash, registration_id, message, expires) VALUES ($1, $2, $3, $4)`,
		l.Hash, l.Registration, string(l.Message), micros(l.Expires))
	return err
}

// EndLTISession takes a session away; one that is not there is none to end.
func (s *Store) EndLTISession(ctx context.Context, tx Tx, hash string) error {
	_, err := tx.exec(ctx, `DELETE FROM lti_sessions WHERE hash = $1`, hash)
	return err
}

// LTISessionByHash finds a session that has not expired.
func (s *Store) LTISessionByHash(ctx context.Context, tx Tx, hash string) (*LTISession, error) {
	l := &LTISession{Hash: hash}
	var message string
	var expires int64
	err := one(ctx, tx, []any{&l.Registration, &message, &expires},
		`SELECT registration_id, message, expires FROM lti_sessions WHERE hash = $1 AND expires >= $2`, hash, micros(s.now()))
	l.Message, l.Expires = []byte(message), moment(expires)
	return l, err
}
