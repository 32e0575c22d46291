package api

import (
	"net/http"
	"slices"
	"strings"
)

// kind is one row of the table of problems: what its documents say always.
type kind struct {
	Code    string
	Status  int
	Title   string
	Meaning string
	Advice  string
}

// uri is the type of the problem's documents, and where it is explained.
func (k *kind) uri() string { return "/v1/problems/" + k.Code }

// The kinds of problems. A code is permanent.
var (
	invalidRequest = &kind{"invalid-request", http.StatusBadRequest, "The request is not as described",
		"A parameter, a header or a field of the form is unknown, or has a value that it cannot have.",
		"Compare the request with " + openAPIPath + "."}
	unknownRuleSet = &kind{"unknown-rule-set", http.StatusBadRequest, "No such rule set",
		"The rule set asked for does not exist.",
		"Choose one that /v1/rule-sets lists, or leave it out."}
	unknownRubric = &kind{"unknown-rubric", http.StatusBadRequest, "No such rubric",
		"The rubric asked for does not exist.",
		"Choose one that /v1/rubrics lists, or leave it out: then no mark is proposed."}
	unknownLanguage = &kind{"unknown-language", http.StatusBadRequest, "No sentences in that language",
		"The language asked for by name is not one that we have.",
		"Leave it out: Accept-Language then chooses among those that we have."}
	missingScore = &kind{"missing-score", http.StatusBadRequest, "No score in the request",
		"A form needs exactly one field named score, with the file as its content, or what the address takes in its place.",
		"Send the score as the field score, or as the body without a form."}
	malformedForm = &kind{"malformed-form", http.StatusBadRequest, "The form cannot be read",
		"The body says that it is multipart/form-data and is not, or it ended early.",
		"Let an HTTP library build the form."}
	incompleteUpload = &kind{"incomplete-upload", http.StatusBadRequest, "The upload ended early",
		"The connection delivered fewer bytes than it promised.",
		"Send the score again."}
	missingKey = &kind{"missing-key", http.StatusUnauthorized, "No key in the request",
		"The service is shared by organizations; a key shows which of them a request comes from.",
		"Send the header 'Authorization: Bearer KEY'; the operator makes keys."}
	unusableKey = &kind{"unusable-key", http.StatusUnauthorized, "The key does not work",
		"The key is unknown, has expired, or was revoked.",
		"Ask the operator for a new one."}
	unusableLink = &kind{"unusable-link", http.StatusUnauthorized, "The link does not sign in",
		"A link signs in once, within a day, and while its key works.",
		"Ask whoever made it for a new one, or sign in with a key."}
	sessionEnded = &kind{"session-ended", http.StatusUnauthorized, "Nobody is signed in any more",
		"The sign-in of this browser has ended: it was ended, it expired, or its key was revoked.",
		"Sign in again."}
	tooManySignIns = &kind{"too-many-sign-ins", http.StatusTooManyRequests, "Too many sign-ins at once",
		"The service takes so many sign-ins a second, of all browsers together.",
		"Try again after the seconds in Retry-After."}
	missingToken = &kind{"missing-token", http.StatusForbidden, "The request does not come from the page",
		"What changes something carries, with the cookie, the token that GET /v1/session shows, in the header " + tokenHeader + ".",
		"Load the page again; a program sends a key in place of the cookie."}
	insecureSignIn = &kind{"insecure-sign-in", http.StatusForbidden, "Nobody signs in over plain http",
		"Anybody on the way could read what a browser is signed in by.",
		"Use https; on the machine of the service itself, http://127.0.0.1 or http://localhost will do."}
	missingScope = &kind{"missing-scope", http.StatusForbidden, "The key may not do this",
		"The key works, and this is outside of its scopes.",
		"Use a key with that scope, or ask the operator for one."}
	quotaReached = &kind{"quota-reached", http.StatusForbidden, "The organization has as much as it may have",
		"A quota on scores, on bytes stored, or on open batches is reached.",
		"Delete batches that are no longer needed, close those that are complete, or ask the operator for more."}
	keyLimit = &kind{"key-limit", http.StatusTooManyRequests, "Too much for one key",
		"The key has reached a limit on requests, on requests at the same time, or on bytes; RateLimit-Policy lists them.",
		"Try again after the seconds in Retry-After."}
	notFound = &kind{"not-found", http.StatusNotFound, "Nothing at this address",
		"The address, or the name at its end, does not exist.",
		"All addresses are listed in " + openAPIPath + "."}
	methodNotAllowed = &kind{"method-not-allowed", http.StatusMethodNotAllowed, "The address does not know this method",
		"The address exists; the header Allow lists its methods.",
		"Use one of the methods in Allow."}
	notAcceptable = &kind{"not-acceptable", http.StatusNotAcceptable, "No answer of the kind accepted",
		"None of the media types in Accept, together with the option marks, can be answered.",
		"Accept application/json, or another of the media types that " + openAPIPath + " lists for this address."}
	rangeNotSatisfiable = &kind{"range-not-satisfiable", http.StatusRequestedRangeNotSatisfiable, "The file has no such part",
		"The header Range names none of its bytes; Content-Range says how many there are.",
		"Ask for a part within them, or leave Range out."}
	preconditionFailed = &kind{"precondition-failed", http.StatusPreconditionFailed, "The file is another one by now",
		"The header If-Match names none of its versions.",
		"Leave If-Match out, and take the whole file."}
	unusableAddress = &kind{"unusable-address", http.StatusUnprocessableEntity, "Nothing is sent to that address",
		"The address of a webhook is not one that can be sent to.",
		"Give an address that begins with https:// and leads to the public internet."}
	tooManyWebhooks = &kind{"too-many-webhooks", http.StatusConflict, "No room for another webhook",
		"The organization has as many webhooks as it may have.",
		"Delete one, or change one so that it receives more events."}
	deliveryWaits = &kind{"delivery-waits", http.StatusConflict, "The delivery is still on its way",
		"It waits for its next attempt.",
		"Wait until it was delivered or has failed."}
	workNotTaken = &kind{"work-not-taken", http.StatusConflict, "The work is not taken",
		"The assignment has not opened, or takes no further attempts of this reference.",
		"Look at the times of the assignment, or ask the teacher."}
	notShown = &kind{"findings-not-shown", http.StatusForbidden, "The findings are not shown yet",
		"The assignment says when pupils see them: once it has closed, or once the teacher has released the marks.",
		"Wait, or ask the teacher."}
	decidedMeanwhile = &kind{"decided-meanwhile", http.StatusConflict, "Something else was decided in the meantime",
		"Others decide on the same assignment at the same time.",
		"Look at the log of the assignment, and decide again."}
	lastTeacher = &kind{"last-teacher", http.StatusConflict, "An assignment stays with one teacher",
		"One that is given to nobody is for everybody who teaches, so the last teacher is not taken from it.",
		"Give it to another teacher first."}
	unsolvable = &kind{"unsolvable-exercise", http.StatusUnprocessableEntity, "The exercise cannot be solved",
		"No answer obeys the rules, or the one that was found does not meet what is demanded.",
		"Change the task, the rules or the demands."}
	crossOrigin = &kind{"cross-origin", http.StatusForbidden, "A page of another site sent this",
		"A service for one user on this machine, and one that a browser is signed in to, takes nothing that a page of another site makes the browser send.",
		"Send it from the service's own page, or from a program; a program that is not on this machine needs accounts."}
	wrongHost = &kind{"wrong-host", http.StatusMisdirectedRequest, "Not the host of this service",
		"A service for one user on this machine answers to localhost and to addresses only.",
		"Use 127.0.0.1 or localhost; behind something with a name of its own, start it with --allow-anyone or with accounts."}
	keyInProgress = &kind{"key-in-progress", http.StatusConflict, "The same request is being answered",
		"Another request with this Idempotency-Key has not been answered yet.",
		"Wait, then send the request again with the same key."}
	keyReused = &kind{"key-reused", http.StatusUnprocessableEntity, "The key was used for another request",
		"A request with this Idempotency-Key came before, with other content or to another address.",
		"Use a new key for a new request."}
	batchClosed = &kind{"batch-closed", http.StatusConflict, "The batch takes no further scores",
		"The batch is closed, finished or canceled, or was sent whole.",
		"Make another batch."}
	wrongState = &kind{"wrong-state", http.StatusConflict, "Not in this state of the batch",
		"What was asked for is not possible in the state that the batch is in.",
		"Ask for the batch and look at its state."}
	uploadTimeout = &kind{"upload-timeout", http.StatusRequestTimeout, "The upload took too long",
		"The body came more slowly than the service waits for.",
		"Send the score again over a faster connection, or compressed as .mxl."}
	uploadTooLarge = &kind{"upload-too-large", http.StatusRequestEntityTooLarge, "The upload is too large",
		"The body has more bytes than the service accepts.",
		"Send a score compressed as .mxl, or movement by movement; send a batch in parts, or add its scores one by one."}
	limitExceeded = &kind{"limit-exceeded", http.StatusRequestEntityTooLarge, "The score exceeds a limit",
		"Unpacked, the score is larger or deeper than the service reads.",
		"Split the score, or ask the operator for a higher limit."}
	unsupportedMediaType = &kind{"unsupported-media-type", http.StatusUnsupportedMediaType, "The body is of a kind that is not read",
		"The header Content-Type names a kind of body that is not read at this address, or Content-Encoding one that is not undone.",
		"Send a score with the header 'Content-Type: application/vnd.recordare.musicxml+xml', or application/octet-stream to let its content decide."}
	unreadableScore = &kind{"unreadable-score", http.StatusUnprocessableEntity, "The score cannot be read",
		"The bytes arrived, and they are not a MusicXML score that can be read without guessing.",
		"See detail and line; most often exporting the score again helps."}
	unreadableRuleSet = &kind{"unreadable-rule-set", http.StatusUnprocessableEntity, "The rule set cannot be read",
		"The field own_rule_set holds no rule set, or accepted no list, or they name what does not exist.",
		"Correct the lines that detail names; /v1/rules lists the rules, /v1/rule-sets the sets to base it on."}
	unreadableLabels = &kind{"unreadable-labels", http.StatusUnprocessableEntity, "The labels cannot be read",
		"The field labels holds no analysis in RomanText.",
		"Send lines such as 'm1 C: I b3 V6', or leave the field out."}
	unreadableRubric = &kind{"unreadable-rubric", http.StatusUnprocessableEntity, "The rubric cannot be read",
		"The field own_rubric holds no rubric, or one that names what does not exist.",
		"Correct the lines that detail names; /v1/rules lists the rules, /v1/rubrics the rubrics to base it on."}
	unreadableCosts = &kind{"unreadable-costs", http.StatusUnprocessableEntity, "The costs cannot be read",
		"The field costs holds no list of charges, or it names one that does not exist.",
		"Correct the lines that detail names; the charges are the terms that a voicing is charged for."}
	unusableOption = &kind{"unusable-option", http.StatusUnprocessableEntity, "An option cannot be met",
		"An option of the batch has a valid value but cannot be met, by itself or together with the others.",
		"Change the option that detail names, or leave it out."}
	unreadableProgression = &kind{"unreadable-progression", http.StatusUnprocessableEntity, "The progression cannot be read",
		"The text is no row of chords after a key.",
		"Correct the line that detail and line name; a progression looks like \"C: I vi ii6 V7*2 I\"."}
	noVoicing = &kind{"no-voicing", http.StatusUnprocessableEntity, "A chord cannot be voiced",
		"No arrangement of the chord lies within the ranges, the spacing and the notes that are given.",
		"Change the chord that detail and chord name, or free a note that it gives."}
	timeLimit = &kind{"time-limit", http.StatusUnprocessableEntity, "The score took too long",
		"The work on this one score passed its time limit.",
		"Split the score, or ask the operator for more time."}
	memoryLimit = &kind{"memory-limit", http.StatusUnprocessableEntity, "The score needs too much memory",
		"The work on this one score passed its limit of memory.",
		"Split the score, ask for less at once (fewer alternatives, fewer voices), or ask the operator for more memory."}
	workLost = &kind{"work-lost", http.StatusUnprocessableEntity, "The work on the score broke off",
		"The process that worked on this one score ended before it was done, each time it was begun.",
		"Try once more. If it happens again, split the score, and tell the operator the request id."}
	internalError = &kind{"internal-error", http.StatusInternalServerError, "An error of the service",
		"Something went wrong on our side; the score is not to blame.",
		"Tell the operator the request id."}
	busy = &kind{"busy", http.StatusServiceUnavailable, "All workers are busy",
		"The queue is full.",
		"Try again after the seconds in Retry-After."}
	shuttingDown = &kind{"shutting-down", http.StatusServiceUnavailable, "The service is shutting down",
		"Work that was accepted is finished; new work is not taken.",
		"Try again after the seconds in Retry-After."}
	databaseDown = &kind{"database-down", http.StatusServiceUnavailable, "The database takes no write",
		"Batches cannot be kept or answered now; single scores can.",
		"Try again after the seconds in Retry-After; the operator should look at the database."}
	blobsDown = &kind{"storage-down", http.StatusServiceUnavailable, "The storage of scores and answers cannot be reached",
		"Scores and answers lie in a folder or object storage beside the database, which does not answer now; single scores can be checked.",
		"Try again after the seconds in Retry-After; the operator should look at that storage."}
	blobGone = &kind{"stored-document-gone", http.StatusInternalServerError, "A stored score or answer is gone",
		"The database knows it, and it is not where it was stored.",
		"Tell the operator the request id. Sending the score again in a new batch gives a new answer."}
	diskFull = &kind{"disk-full", http.StatusServiceUnavailable, "The disk is nearly full",
		"There is too little room left for batches.",
		"The operator should make room, or delete batches."}
	notReady = &kind{"not-ready", http.StatusServiceUnavailable, "The service takes no work",
		"Every worker is held by a score that runs past its time limit.",
		"Try again after the seconds in Retry-After; if it lasts, restart the service."}
)

var kinds = slices.Concat([]*kind{
	invalidRequest, unknownRuleSet, unknownRubric, unknownLanguage, missingScore, malformedForm, incompleteUpload,
	missingKey, unusableKey, unusableLink, sessionEnded, tooManySignIns, missingToken, insecureSignIn, missingScope, quotaReached, keyLimit, notFound, methodNotAllowed, notAcceptable, rangeNotSatisfiable, preconditionFailed, crossOrigin, wrongHost, unusableAddress, tooManyWebhooks, deliveryWaits, workNotTaken, notShown, decidedMeanwhile, lastTeacher, unsolvable, keyInProgress, keyReused, batchClosed, wrongState, uploadTimeout, uploadTooLarge, limitExceeded,
	unsupportedMediaType, unreadableScore, unreadableRuleSet, unreadableRubric, unreadableLabels, unreadableCosts, unusableOption,
	unreadableProgression, noVoicing, timeLimit, memoryLimit, workLost, internalError, busy, shuttingDown, notReady, databaseDown, blobsDown, blobGone, diskFull,
}, ltiKinds)

func kindByCode(code string) (*kind, bool) {
	for _, k := range kinds {
		if k.Code == code {
			return k, true
		}
	}
	return nil, false
}

func (k *kind) explained() ProblemKind {
	return ProblemKind{
		Code: k.Code, Type: k.uri(), Status: k.Status, Title: k.Title, Meaning: k.Meaning, Advice: k.Advice,
	}
}

// refusal is an error that already knows its kind.
type refusal struct {
	kind *kind
	// detail says what went wrong this time; advice replaces that of the kind.
	detail, advice string
	// header is what the answer carries beside the document.
	header http.Header
}

// Error implements error.
func (r *refusal) Error() string { return r.kind.Code + ": " + r.detail }

// problem returns what the refusal means for a client.
func (r *refusal) problem() Problem {
	p := newProblem(r.kind, r.detail)
	if r.advice != "" {
		p.Advice = r.advice
	}
	return p
}

func refuse(k *kind, detail ...string) *refusal {
	return &refusal{kind: k, detail: strings.Join(detail, "")}
}
