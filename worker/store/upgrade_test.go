package store_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Data of every earlier version are read by this one: what was answered, what
// waits, and what comes next.
func TestDataOfEarlierVersionsAreRead(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		b := f.create("one", "another", "a third")
		f.answer(b.ID, numbered(1, report("a report")))
		waiting := func() (numbers []int64) {
			f.read(func(ctx context.Context, tx store.Tx) error {
				members, err := store.Waiting(ctx, tx, store.SingleUser, b.ID, 1, 3)
				for _, m := range members {
					numbers = append(numbers, m.Number)
				}
				return err
			})
			return numbers
		}
		for version := storetest.Versions(t) - 1; version >= 1; version-- {
			f = f.upgraded(c, version, func() {})
			page := f.results(store.ResultQuery{Batch: b.ID, Organization: store.SingleUser, Limit: 10, Reports: true})
			if len(page) != 1 {
				t.Fatalf("from version %d: %d results", version, len(page))
			}
			if text, err := page[0].Report.Unpack(); err != nil || string(text) != "a report" {
				t.Errorf("from version %d: the report is %q, %v", version, text, err)
			}
			if got := waiting(); !slices.Equal(got, []int64{2, 3}) {
				t.Errorf("from version %d: %v wait", version, got)
			}
		}
		f.answer(b.ID, numbered(2, report("the next")))
		if got := waiting(); !slices.Equal(got, []int64{3}) {
			t.Errorf("after the next answer %v wait", got)
		}
		if b := f.add(b.ID, "a fourth"); b.Last != 4 {
			t.Errorf("the next score is number %d", b.Last)
		}
	})
}

// upgraded takes the tables back to a version, lets it be looked at, and opens it as a
// later version does.
func (f fixture) upgraded(c store.Config, version int64, look func()) fixture {
	f.Helper()
	storetest.BackTo(f, f.Store, version)
	look()
	if err := f.Close(); err != nil {
		f.Fatal(err)
	}
	return fixture{f.T, storetest.Open(f.T, c)}
}

// Every column of every row that an earlier version had is the same after an upgrade:
// keys, webhooks with their secrets, deliveries, idempotency keys, events and answers
// among them.
func TestUpgradesChangeNothingThatWasThere(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		for version := storetest.Versions(t) - 1; version >= 1; version-- {
			f.fillAll()
			var columns map[string][]string
			var before map[string]string
			f = f.upgraded(c, version, func() {
				columns = f.columns()
				before = f.rows(columns)
				for table, rows := range before {
					if rows == "" {
						t.Errorf("version %d: the test writes nothing to %s: say in fillAll what stands there", version, table)
					}
				}
			})
			for table, rows := range f.rows(columns) {
				if rows != before[table] {
					t.Errorf("from version %d: %s held\n%sand holds\n%s", version, table, before[table], rows)
				}
			}
		}
	})
}

// fillAll writes a row at least to every table.
func (f fixture) fillAll() {
	f.Helper()
	b := f.create("one", "another")
	part := store.Pack([]byte("a part"))
	f.answer(b.ID, store.NewResult{Number: 1, Engine: "test", Recipe: "a recipe", Report: part, Marked: part, Analysis: part, Mending: part, Voicing: part, Found: &store.Found{
		Score:     store.FoundScore{FoundIn: store.FoundIn{File: "a.musicxml", Title: "A hymn"}, Outcome: "checked", Key: "C major", Mode: "major", Measures: 4},
		Findings:  []store.FoundFinding{{Position: 1, Rule: "parallel-fifths", Family: "consecutives", Severity: "fault", Voices: "S B", Measure: "1", Beat: 1}},
		Harmonies: []store.FoundHarmony{{Position: 1, Key: "C major", Mode: "major", Numeral: "I", Cadence: "PAC", Formula: "V I", Measure: "1", Beat: 1}},
	}})
	f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Problem: []byte(`{"code":"timeout"}`)})
	f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
		finish(b)
		return store.SetCatalogue(ctx, tx, b, 1, 2, []store.Cell{{Number: 1, Name: "licence", Value: "CC0"}})
	})
	f.write(func(ctx context.Context, tx store.Tx) error {
		o, err := f.CreateOrganization(ctx, tx, "a school", store.Quotas{Scores: 10, Bytes: 1 << 20, OpenBatches: 3, Retention: time.Hour})
		if err == nil {
			var key store.Key
			key, err = f.CreateKey(ctx, tx, store.Key{Organization: o.ID, Name: "a key", Hash: b.ID, Scopes: []string{"read-batches"}, Expires: time.Now()})
			if err == nil {
				_, err = f.CreateSession(ctx, tx, store.Session{
					Organization: o.ID, Key: key.ID, Hash: b.ID, Role: "teacher", Subject: "7", Assignment: "a quiz", Scopes: key.Scopes, Begun: time.Now(), Expires: time.Now(),
				})
			}
		}
		if err == nil {
			_, err = f.Remember(ctx, tx, o.ID, "a key of a request", "its content", b.ID)
		}
		var hook *store.Webhook
		if err == nil {
			hook, err = f.CreateWebhook(ctx, tx, store.Webhook{
				Organization: o.ID, URL: "https://school.example/told", Kinds: []string{"batch.finished"},
				Secret: "whsec_new", FormerSecret: "whsec_old", FormerUntil: time.Now(), Off: "a reason",
			})
		}
		if err == nil {
			err = f.CreateDeliveries(ctx, tx, []store.Delivery{{Webhook: hook.ID, Organization: o.ID, Message: "msg_1", Kind: "batch.finished", Payload: `{}`}})
		}
		var sent []store.Delivery
		if err == nil {
			sent, err = store.Deliveries(ctx, tx, store.DeliveryQuery{Organization: o.ID, Webhook: hook.ID, Limit: 1})
		}
		if err == nil {
			err = store.AddAttempt(ctx, tx, &sent[0], store.Attempt{Begun: time.Now(), Took: time.Second, Status: 503, Failure: "status"})
		}
		if err == nil {
			err = f.fillLTI(ctx, tx, o.ID, b.ID)
		}
		if err == nil {
			err = f.fillClass(ctx, tx, o.ID, b.ID)
		}
		if err == nil {
			err = f.fillLTILink(ctx, tx, o.ID, b.ID)
		}
		return err
	})
	f.exec(`INSERT INTO turns (organization_id, line, priority, turn) VALUES ('single-user', '` + b.ID + `', 1, 7)`)
	f.exec(`INSERT INTO backups (id, made) VALUES (1, 1) ON CONFLICT (id) DO NOTHING`)
	f.exec(`INSERT INTO removals (place) SELECT name FROM blobs WHERE 1 = 1 ON CONFLICT DO NOTHING`)
	f.exec(`INSERT INTO blob_storage (id, mark, address) VALUES (1, 'a mark', 'a folder') ON CONFLICT DO NOTHING`)
	f.exec(`INSERT INTO workers (id, seen) VALUES ('` + b.ID + `', 1)`)
}

// fillClass writes an assignment under an id, with something handed in and decided.
func (f fixture) fillClass(ctx context.Context, tx store.Tx, organization, id string) error {
	part := store.Pack([]byte("a part"))
	err := f.CreateAssignment(ctx, tx, store.Assignment{ID: id, Organization: organization, Content: part, Teachers: []string{"somebody"}})
	if err == nil {
		_, err = f.AddHandIn(ctx, tx, store.HandIn{Assignment: id, Organization: organization, Reference: "p7", Score: part, Marking: part, Marked: part, Received: time.Now()})
	}
	if err == nil {
		err = store.AddClassEntry(ctx, tx, store.ClassEntry{Assignment: id, Organization: organization, Reference: "p7", Content: "{}"}, 0)
	}
	return err
}

// fillLTI writes what is kept of a learning system; mark tells rows of one call from
// those of another.
func (f fixture) fillLTI(ctx context.Context, tx store.Tx, organization, mark string) error {
	later := time.Now().Add(time.Hour)
	r, err := f.AddLTIRegistration(ctx, tx, store.LTIRegistration{
		Organization: organization, Issuer: "https://lms.school.example", ClientID: mark, Authorization: "https://lms.school.example/login",
		Token: "https://lms.school.example/token", Keys: "https://lms.school.example/keys", Audience: "https://lms.school.example",
	}, "a deployment")
	if err == nil {
		err = f.AddLTILogin(ctx, tx, store.LTILogin{
			State: mark, Registration: r.ID, Nonce: "n", Browser: "b", Deployment: "a deployment", Storage: "_parent", Again: "iss=x", Expires: later,
		})
	}
	if err == nil {
		_, err = f.UseLTILogin(ctx, tx, mark)
	}
	if err == nil {
		err = store.AddLTIKey(ctx, tx, store.LTIKey{ID: mark, Private: "a key", Created: time.Now()}, time.Time{})
	}
	if err == nil {
		err = store.AddLTIInvitation(ctx, tx, organization, mark, later)
	}
	if err == nil {
		err = f.AddLTISession(ctx, tx, store.LTISession{Hash: mark, Registration: r.ID, Message: []byte("{}"), Expires: later})
	}
	var s *store.LTIScore
	if err == nil {
		s, _, err = f.SetLTIScore(ctx, tx, store.LTIScore{
			Registration: r.ID, LineItem: "https://lms.school.example/1", Pupil: "p", Released: true, Given: 9.5, Maximum: 12, Comment: "c", Readable: true,
		})
	}
	if err == nil {
		_, err = store.ChangeLTIScore(ctx, tx, s.ID, func(s *store.LTIScore) error {
			s.State, s.Begun, s.Failure = store.LTIScoreFailed, true, "refused"
			return nil
		})
	}
	return err
}

// fillLTILink writes a link to the assignment that fillClass made, and who came by it.
func (f fixture) fillLTILink(ctx context.Context, tx store.Tx, organization, mark string) error {
	all, err := store.LTIRegistrationsOf(ctx, tx, organization)
	if err != nil {
		return err
	}
	l := store.LTILink{Registration: all[0].ID, Deployment: "a deployment", Link: "1", Assignment: mark, LineItem: "https://lms.school.example/1", Readable: true}
	if err := store.KeepLTILink(ctx, tx, l); err != nil {
		return err
	}
	return store.KeepLTIPupil(ctx, tx, store.LTIPupil{LTILink: l, Pupil: "p", Reference: "p7"})
}

func (f fixture) exec(statement string) {
	f.Helper()
	f.write(func(ctx context.Context, tx store.Tx) error {
		_, err := store.Exec(ctx, tx, statement)
		return err
	})
}

// columns are those of every table of ours.
func (f fixture) columns() map[string][]string {
	f.Helper()
	statement := `SELECT table_name, column_name FROM information_schema.columns WHERE table_schema = current_schema() ORDER BY 1, 2`
	if f.SQLite() != nil {
		statement = `SELECT t.name, c.name FROM sqlite_master t JOIN pragma_table_info(t.name) c WHERE t.type = 'table' ORDER BY 1, 2`
	}
	all := map[string][]string{}
	f.read(func(ctx context.Context, tx store.Tx) error {
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var table, column string
			err := scan(&table, &column)
			if !strings.HasPrefix(table, "goose_") && !strings.HasPrefix(table, "sqlite_") {
				all[table] = append(all[table], column)
			}
			return err
		}, statement)
	})
	return all
}

// rows are the contents of tables, a line for each row.
func (f fixture) rows(columns map[string][]string) map[string]string {
	f.Helper()
	all := map[string]string{}
	for table, names := range columns {
		var lines []string
		f.read(func(ctx context.Context, tx store.Tx) error {
			return store.Each(ctx, tx, func(scan store.Scan) error {
				values, into := make([]any, len(names)), make([]any, len(names))
				for i := range values {
					into[i] = &values[i]
				}
				err := scan(into...)
				lines = append(lines, fmt.Sprintf("%v\n", values))
				return err
			}, `SELECT `+strings.Join(names, ", ")+` FROM `+table)
		})
		slices.Sort(lines)
		all[table] = strings.Join(lines, "")
	}
	return all
}
