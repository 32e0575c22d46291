package gradebook_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"partwright/api/gradebook"
	"partwright/api/webhook"
	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/classroom/classtest"
	"partwright/worker/queue"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// school is a class whose marks are told.
type school struct {
	*testing.T
	store    *store.Store
	classes  *classbook.Service
	webhooks *webhook.Service
	hook     string
	id       string
	scores   map[string][]byte
	now      time.Time
	seen     map[string]bool // deliveries
}

func newSchool(t *testing.T, c store.Config, kinds ...string) *school {
	t.Helper()
	s := &school{T: t, now: time.Now(), seen: map[string]bool{}}
	c.Now = func() time.Time { return s.now }
	s.store = storetest.Open(t, c)
	s.webhooks = webhook.New(webhook.Config{Store: s.store, Plain: true})
	known := queue.NewKinds()
	s.webhooks.Handle(known)
	q, err := queue.Open(t.Context(), queue.Config{Store: s.store}, known)
	if err != nil {
		t.Fatal(err)
	}
	s.webhooks.Use(q)
	s.classes = classbook.New(s.store, &worker.Engine{})
	gradebook.New(gradebook.Config{Store: s.store, Classes: s.classes, Webhooks: s.webhooks})
	a := &classroom.Assignment{Title: "Second quiz"}
	if err := s.classes.Create(t.Context(), store.SingleUser, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass}); err != nil {
		t.Fatal(err)
	}
	s.id = a.ID
	if s.scores, err = classtest.HandIns(a); err != nil {
		t.Fatal(err)
	}
	w, err := s.webhooks.Create(t.Context(), store.SingleUser, "https://school.example.org/told", kinds)
	if err != nil {
		t.Fatal(err)
	}
	s.hook = w.ID
	return s
}

func (s *school) handsIn(references ...string) {
	s.Helper()
	for _, reference := range references {
		if _, err := s.classes.HandIn(s.Context(), store.SingleUser, s.id, reference, s.scores[reference]); err != nil {
			s.Fatal(err)
		}
	}
}

func (s *school) decide(e classroom.Entry) {
	s.Helper()
	e.By = "ms"
	if _, err := s.classes.Decide(s.Context(), store.SingleUser, s.id, e); err != nil {
		s.Fatal(err)
	}
}

// told lists what was sent since the last time, in order of the words: what is told in one
// transaction comes in no order.
func (s *school) told() (lines []string) {
	s.Helper()
	all, err := s.webhooks.Log(s.Context(), store.DeliveryQuery{Organization: store.SingleUser, Webhook: s.hook, Limit: 100})
	if err != nil {
		s.Fatal(err)
	}
	for _, d := range all {
		if s.seen[d.ID] {
			continue
		}
		s.seen[d.ID] = true
		var m struct {
			Type string
			Data map[string]any
		}
		if err := json.Unmarshal([]byte(d.Payload), &m); err != nil || m.Type != d.Kind || m.Data["assignment"] != s.id || len(m.Data) != 3 {
			s.Errorf("%s: %v", d.Payload, err)
		}
		lines = append(lines, fmt.Sprint(m.Type, " ", m.Data["reference"], " ", m.Data["attempt"]))
	}
	slices.Sort(lines)
	return lines
}

// Each thing that happens to a mark is told once, and to whoever asked for it.
func TestWhatWebhooksAreTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newSchool(t, c, webhook.HandInMarked, webhook.MarkReleased, webhook.MarkChanged, webhook.MarkTakenBack)
		mark, err := classroom.ParsePoints("50")
		if err != nil {
			t.Fatal(err)
		}
		for _, step := range []struct {
			what string
			do   func()
			want []string
		}{
			{"handed in", func() { s.handsIn("p04", "p05") }, []string{"hand-in.marked p04 1", "hand-in.marked p05 1"}},
			{"a mark that nobody sees", func() { s.decide(classroom.Entry{Do: classroom.SetMark, Reference: "p04", Mark: &mark}) }, nil},
			{"released", func() { s.decide(classroom.Entry{Do: classroom.Release}) }, []string{"mark.released p04 1", "mark.released p05 1"}},
			{"released again", func() { s.decide(classroom.Entry{Do: classroom.Release}) }, nil},
			{"a remark that costs nothing", func() {
				s.decide(classroom.Entry{Do: classroom.Add, Reference: "p05", Measure: "1", Text: "see me"})
			}, nil},
			{"changed", func() { s.decide(classroom.Entry{Do: classroom.SetMark, Reference: "p05", Mark: &mark}) }, []string{"mark.changed p05 1"}},
			{"taken back", func() { s.decide(classroom.Entry{Do: classroom.TakeBack, Reference: "p05"}) }, []string{"mark.taken-back p05 1"}},
			{"handed in again", func() { s.now = s.now.Add(time.Minute); s.handsIn("p05") }, []string{"hand-in.marked p05 2"}},
			{"released with that", func() { s.decide(classroom.Entry{Do: classroom.Release}) }, []string{"mark.released p05 2"}},
		} {
			step.do()
			got := s.told()
			if !slices.Equal(got, step.want) {
				t.Errorf("%s: told %q, want %q", step.what, got, step.want)
			}
		}
	})
}

func TestWhoDidNotAskIsNotTold(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newSchool(t, c, webhook.MarkReleased)
		s.handsIn("p04")
		s.decide(classroom.Entry{Do: classroom.Release})
		s.decide(classroom.Entry{Do: classroom.TakeBack})
		if got := s.told(); !slices.Equal(got, []string{"mark.released p04 1"}) {
			t.Errorf("told %q", got)
		}
	})
}
