package lti

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"partwright/api/outgoing"
	"partwright/worker/store"
)

// What a learning system and this service know of one another, what was begun, and what
// is ours. The store knows what the fields mean.
type (
	Registration = store.LTIRegistration
	Login        = store.LTILogin
	Key          = store.LTIKey
	Session      = store.LTISession
)

// Store keeps what outlives a request. What is not there is [store.ErrNotFound].
type Store interface {
	// Registrations finds those of an issuer; a client id that is not "" picks one.
	Registrations(ctx context.Context, issuer, client string) ([]Registration, error)
	Registration(ctx context.Context, id string) (*Registration, error)
	// Register adds a registration, or takes over what changed of one of the same
	// organization; others' are not found.
	Register(ctx context.Context, r Registration, deployments ...string) (*Registration, error)
	KnowsDeployment(ctx context.Context, registration, deployment string) (bool, error)
	AddLogin(ctx context.Context, l Login) error
	// Login finds a login that has not expired; UseLogin is true for one caller, once.
	Login(ctx context.Context, state string) (*Login, error)
	UseLogin(ctx context.Context, state string) (bool, error)
	// Keys are ours, the oldest first. AddKey takes those away made before a moment.
	Keys(ctx context.Context) ([]Key, error)
	AddKey(ctx context.Context, k Key, before time.Time) error
	// Invitation says whose learning system may be registered with a hash; used takes
	// the invitation away.
	Invitation(ctx context.Context, hash string, used bool) (organization string, err error)
	AddSession(ctx context.Context, s Session) error
	Session(ctx context.Context, hash string) (*Session, error)
	EndSession(ctx context.Context, hash string) error
	Now() time.Time
}

// Config configures a [Tool].
type Config struct {
	Store Store
	// Base is where browsers reach this service: https://, a host and no path.
	Base string
	// Client makes requests to learning systems; see [outgoing.NewClient].
	Client *http.Client
	// Guard decides where requests may go; Plain lets addresses begin with http://.
	Guard outgoing.Guard
	Plain bool
	// Anonymous lets launches in that do not say who comes (Core 5.3.6.1). Without it
	// they are refused: a hand-in belongs to somebody.
	Anonymous bool
	// Name is what learning systems list this service as (default Partwright).
	Name string
}

// Bounds in time. Skew is how far clocks may differ.
const (
	skew         = time.Minute
	loginFor     = 10 * time.Minute
	oldest       = 10 * time.Minute
	sessionFor   = 8 * time.Hour
	assertionFor = 5 * time.Minute
)

// Paths of this service below the base.
const (
	LoginPath    = "/lti/login"
	LaunchPath   = "/lti/launch"
	KeysPath     = "/lti/keys"
	RegisterPath = "/lti/register"
)

// Tool answers learning systems. It is safe for concurrent use.
type Tool struct {
	Config
	base *url.URL
	// Opens, if set, is called before somebody is let in, and may refuse them. It says in
	// the message what the link is for.
	Opens func(ctx context.Context, r *Registration, m *Message) error

	keys   *keyring
	sets   *keySets
	tokens *tokens
}

// New returns a tool.
func New(c Config) (*Tool, error) {
	base, err := url.Parse(c.Base)
	if err != nil || base.Host == "" || base.Scheme != "https" && (!c.Plain || base.Scheme != "http") ||
		strings.Trim(base.Path, "/") != "" || base.RawQuery != "" || base.Fragment != "" || base.User != nil {
		return nil, errors.New("the address of the service for learning systems must be https:// and a host, without a path")
	}
	base.Path = ""
	if c.Name == "" {
		c.Name = "Partwright"
	}
	t := &Tool{Config: c, base: base}
	t.keys = &keyring{store: c.Store}
	t.sets = &keySets{fetch: t.fetchKeys, now: c.Store.Now}
	t.tokens = &tokens{tool: t}
	return t, nil
}

// SecretPrefix begins the secret of what was launched, and nothing else.
const SecretPrefix = "lti_"

// at is an address of this service.
func (t *Tool) at(path string) string { return t.base.String() + path }

// newSecret is 256 random bits, in letters that addresses take as they are.
func newSecret() string {
	var secret [32]byte
	_, _ = rand.Read(secret[:]) // never fails
	return base64.RawURLEncoding.EncodeToString(secret[:])
}

// hashOf is under what a secret is kept.
func hashOf(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}
