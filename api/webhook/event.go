package webhook

import (
	"crypto/rand"
	"encoding/json"
	"slices"
	"time"

	"partwright/worker/store"
)

// Kinds are the kinds of events that can be sent; the names are permanent.
var Kinds = []string{
	"batch.added", "batch.closed", "batch.finished", "batch.canceled", "batch.resumed", "batch.retried",
	"score.done", "score.failed",
	HandInMarked, MarkReleased, MarkChanged, MarkTakenBack,
}

// Kinds of events about classes.
const (
	// HandInMarked tells that work was handed in and looked at.
	HandInMarked = "hand-in.marked"
	// MarkReleased and MarkTakenBack tell of what a teacher has done, MarkChanged that a
	// mark that is released is another now.
	MarkReleased  = "mark.released"
	MarkChanged   = "mark.changed"
	MarkTakenBack = "mark.taken-back"
)

// Event is something to tell of that is no batch. Data becomes JSON; it names things by
// their ids and holds nothing of a person.
type Event struct {
	Kind string
	Data any
}

// kindOfEvent is the kind under which an event of a batch is sent. That some scores
// were answered is sent score by score.
var kindOfEvent = map[store.EventKind]string{
	store.EventAdded: "batch.added", store.EventClosed: "batch.closed", store.EventFinished: "batch.finished",
	store.EventCanceled: "batch.canceled", store.EventResumed: "batch.resumed", store.EventRetried: "batch.retried",
}

var kindOfMember = map[store.MemberState]string{
	store.MemberDone: "score.done", store.MemberFailed: "score.failed",
}

// message is what is sent, in the shape that Standard Webhooks 1.0.0 recommends.
// It names what happened and to what; names of files and findings are for whoever
// has a key to ask for.
type message struct {
	id        string
	Type      string    `json:"type"`
	Timestamp time.Time `json:"timestamp"`
	Data      any       `json:"data"`
}

type batchData struct {
	Batch  string           `json:"batch"`
	State  store.BatchState `json:"state"`
	Counts counts           `json:"counts"`
}

type counts struct {
	Total    int64 `json:"total"`
	Waiting  int64 `json:"waiting"`
	Done     int64 `json:"done"`
	Failed   int64 `json:"failed"`
	Canceled int64 `json:"canceled"`
}

type scoreData struct {
	Batch string `json:"batch"`
	Score int64  `json:"score"`
}

// messages are those about a change of a batch of which somebody wants to know.
func messages(b *store.Batch, events []store.Event, answered []store.Answered, wanted func(kind string) bool, now time.Time) []message {
	var all []message
	add := func(kind string, data any) {
		if kind != "" && wanted(kind) {
			all = append(all, message{"msg_" + rand.Text(), kind, now.UTC(), data})
		}
	}
	for _, a := range answered {
		add(kindOfMember[a.State], scoreData{b.ID, a.Number})
	}
	for _, e := range events {
		add(kindOfEvent[e.Kind], batchData{b.ID, e.State, counts(e.Counts)})
	}
	return all
}

// messagesOf are those about events of which somebody wants to know.
func messagesOf(events []Event, wanted func(kind string) bool, now time.Time) []message {
	var all []message
	for _, e := range events {
		if wanted(e.Kind) {
			all = append(all, message{"msg_" + rand.Text(), e.Kind, now.UTC(), e.Data})
		}
	}
	return all
}

func (m message) payload() (string, error) {
	text, err := json.Marshal(m)
	return string(text), err
}

// anyWants reports which kinds are sent to any of some webhooks.
func anyWants(all []store.Webhook) func(kind string) bool {
	return func(kind string) bool {
		return slices.ContainsFunc(all, func(w store.Webhook) bool { return wants(&w, kind) })
	}
}

func wants(w *store.Webhook, kind string) bool { return w.Off == "" && slices.Contains(w.Kinds, kind) }
