package lti

import "net/http"

// Problem is one reason why something is refused: a row of the table of problems. Its
// code is permanent.
type Problem struct {
	Code                   string
	Status                 int
	Title, Meaning, Advice string
}

// Error implements error.
func (p *Problem) Error() string { return p.Code }

// Because says what was wrong this time; the text holds nothing of a person.
func (p *Problem) Because(detail string) error { return &Refusal{p, detail, nil} }

// from keeps the error that led there, for whoever asks with [errors.Is].
func (p *Problem) from(detail string, cause error) error { return &Refusal{p, detail, cause} }

// Refusal is an error that a problem explains.
type Refusal struct {
	*Problem
	// Detail is a sentence.
	Detail string
	cause  error
}

// Error implements error.
func (r *Refusal) Error() string { return r.Code + ": " + r.Detail }

// Unwrap returns the problem and what led to it.
func (r *Refusal) Unwrap() []error {
	if r.cause == nil {
		return []error{r.Problem}
	}
	return []error{r.Problem, r.cause}
}

const (
	startAgain = "Open the assignment in the learning system again."
	askAdmin   = "Whoever looks after the learning system should compare its settings with those of this service."
)

// The problems, each for one check.
var (
	LoginIncomplete = row("login-incomplete", http.StatusBadRequest, "The login is not as the standard has it",
		"A parameter of the login is missing, comes twice or is too long.", askAdmin)
	UnknownPlatform = row("unknown-platform", http.StatusForbidden, "No such learning system",
		"No learning system with this issuer and client id is registered here.", "Register it first; the operator of this service gives the address for that.")
	ClientNeeded = row("client-needed", http.StatusBadRequest, "Which registration is meant?",
		"The learning system is registered more than once and did not send its client_id.", "Let the learning system send client_id.")
	UnknownLogin = row("unknown-login", http.StatusForbidden, "The login is not known, or took too long",
		"The launch answers no login that began here in the last minutes.", startAgain)
	Replayed = row("replayed", http.StatusForbidden, "This launch was used before",
		"A login and its token count once.", startAgain)
	OtherBrowser = row("other-browser", http.StatusForbidden, "The login began in another browser",
		"The launch comes from a browser in which its login did not begin.", startAgain)
	LoginRefused = row("login-refused", http.StatusForbidden, "The learning system did not log anybody in",
		"It answered the login with an error.", "Log in to the learning system, then open the assignment again.")
	MalformedToken = row("malformed-token", http.StatusBadRequest, "The token cannot be read",
		"What should be a signed JSON Web Token is none.", askAdmin)
	WrongAlgorithm = row("wrong-algorithm", http.StatusForbidden, "Not signed by RS256",
		"A launch is signed by RS256 and by nothing else.", askAdmin)
	MissingKeyID = row("missing-key-id", http.StatusForbidden, "The token names no key",
		"The header of the token has no kid.", askAdmin)
	UnknownKey = row("unknown-key", http.StatusForbidden, "No such key",
		"The learning system's key set has no key of that name that may sign a launch.", "Try again in a minute; if it stays, "+askAdmin)
	WrongSignature = row("wrong-signature", http.StatusForbidden, "The signature is wrong",
		"The token was not signed by the learning system's key, or was changed.", askAdmin)
	WrongIssuer = row("wrong-issuer", http.StatusForbidden, "Another issuer",
		"The token comes from another learning system than the login.", askAdmin)
	WrongAudience = row("wrong-audience", http.StatusForbidden, "Meant for somebody else",
		"The audience of the token is not this service.", askAdmin)
	WrongParty = row("wrong-party", http.StatusForbidden, "Given to somebody else",
		"The authorized party of a token with several audiences, azp, is not this service.", askAdmin)
	MissingTime = row("missing-time", http.StatusForbidden, "No time in the token",
		"The token does not say when it was issued or expires.", askAdmin)
	Expired = row("expired", http.StatusForbidden, "The token has expired",
		"It came after the moment until which it counts.", startAgain)
	IssuedLater = row("issued-later", http.StatusForbidden, "The token comes from the future",
		"The clocks of the learning system and of this service disagree.", "Both should take their time from the network.")
	IssuedLongAgo = row("issued-long-ago", http.StatusForbidden, "The token is old",
		"It was issued longer ago than a login takes.", startAgain)
	WrongNonce = row("wrong-nonce", http.StatusForbidden, "The token answers another login",
		"Its nonce is missing or not the one that was sent.", startAgain)
	WrongVersion = row("wrong-version", http.StatusForbidden, "Not LTI 1.3",
		"The version of the message is missing or another than 1.3.0.", askAdmin)
	MissingMessageType = row("missing-message-type", http.StatusForbidden, "What is asked for?",
		"The message has no type.", askAdmin)
	WrongMessageType = row("wrong-message-type", http.StatusForbidden, "Nothing of that kind is answered",
		"The type of the message is another than a launch or deep linking.", askAdmin)
	MissingDeployment = row("missing-deployment", http.StatusForbidden, "No deployment",
		"The message does not say to which deployment it belongs.", askAdmin)
	UnknownDeployment = row("unknown-deployment", http.StatusForbidden, "No such deployment",
		"The deployment is none that is registered here, or another than at the login.", "The operator of this service adds deployments.")
	MissingRoles = row("missing-roles", http.StatusForbidden, "No roles",
		"The message has no list of roles; it may be empty, and must be there.", askAdmin)
	MissingResourceLink = row("missing-resource-link", http.StatusForbidden, "No link",
		"The launch does not say which of the learning system's links was followed.", askAdmin)
	MissingTarget = row("missing-target", http.StatusForbidden, "No target",
		"The launch does not say what is to be opened.", askAdmin)
	ForeignTarget = row("foreign-target", http.StatusForbidden, "A target that is not ours",
		"The launch wants to be sent on to an address outside of this service.", askAdmin)
	MissingSubject = row("missing-subject", http.StatusForbidden, "Nobody in particular",
		"The launch does not say, by an opaque reference, who comes; a hand-in needs that.", askAdmin)
	MissingSettings = row("missing-settings", http.StatusForbidden, "Where should the choice go?",
		"The message asks for a choice and does not say where it is sent or what may be chosen.", askAdmin)
	MalformedClaim = row("malformed-claim", http.StatusForbidden, "A claim cannot be read",
		"A claim of the token is of another kind than the standard has it, or too long.", askAdmin)
	PlatformFails = row("platform-fails", http.StatusBadGateway, "The learning system does not answer",
		"It could not be reached, took too long or answered with an error of its own.", "Try again later.")
	PlatformRefuses = row("platform-refuses", http.StatusBadGateway, "The learning system refuses",
		"It answered that this service may not do that, or not like that.", askAdmin)
	NotGranted = row("not-granted", http.StatusConflict, "The launch grants no such thing",
		"The learning system did not offer this service in the launch.", "Turn it on in the learning system's settings of this tool.")
	NotInvited = row("not-invited", http.StatusForbidden, "Registering needs an invitation",
		"The address holds none, or one that was used or has expired.", "Ask the operator of this service for another address.")
	UnusableRegistration = row("unusable-registration", http.StatusUnprocessableEntity, "The registration cannot be used",
		"What the learning system says of itself is incomplete or contradicts itself.", askAdmin)
	NoSession = row("no-session", http.StatusUnauthorized, "No launch",
		"The request does not come from a launch, or the launch was hours ago.", startAgain)
	NothingSet = row("nothing-set", http.StatusConflict, "Nothing is set here yet",
		"The teacher has not said which assignment this link is for.", "Ask whoever teaches the course.")
	TeachersOnly = row("teachers-only", http.StatusForbidden, "For teachers",
		"The roles of the launch are none of a teacher.", "Ask whoever teaches the course.")
)

var problems []*Problem

func row(code string, status int, title, meaning, advice string) *Problem {
	p := &Problem{"lti-" + code, status, title, meaning, advice}
	problems = append(problems, p)
	return p
}

// Problems lists the problems in their order.
func Problems() []*Problem { return problems }
