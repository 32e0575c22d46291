package store_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// school is an organization with an assignment.
func (f fixture) school(id string) (organization string) {
	f.write(func(ctx context.Context, tx store.Tx) error {
		o, err := f.CreateOrganization(ctx, tx, "a school", store.Quotas{})
		if err == nil {
			organization = o.ID
			err = f.CreateAssignment(ctx, tx, store.Assignment{ID: id, Organization: o.ID, Content: store.Pack([]byte("an exercise"))})
		}
		return err
	})
	return organization
}

func (f fixture) handsIn(organization, assignment, reference string) (attempt int) {
	f.write(func(ctx context.Context, tx store.Tx) (err error) {
		part := store.Pack([]byte(reference))
		attempt, err = f.AddHandIn(ctx, tx, store.HandIn{Assignment: assignment, Organization: organization, Reference: reference, Score: part, Marking: part, Received: time.Now()})
		return err
	})
	return attempt
}

// Attempts are numbered by reference; another organization finds nothing, and decides
// nothing.
func TestHandInsBelongToTheirOrganization(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		own, other := f.school("quiz"), f.school("another")
		if a, b, c := f.handsIn(own, "quiz", "p1"), f.handsIn(own, "quiz", "p1"), f.handsIn(own, "quiz", "p2"); a != 1 || b != 2 || c != 1 {
			t.Errorf("attempts %d, %d, %d", a, b, c)
		}
		f.read(func(ctx context.Context, tx store.Tx) error {
			for _, test := range []struct {
				organization, reference string
				scores                  bool
				want                    int
			}{{own, "", true, 3}, {own, "p1", false, 2}, {own, "p3", true, 0}, {other, "", true, 0}} {
				all, err := store.HandIns(ctx, tx, test.organization, "quiz", test.reference, test.scores)
				if err != nil || len(all) != test.want {
					t.Errorf("%+v: %d, %v", test, len(all), err)
				}
				for i := range all {
					if (all[i].Score != nil) != test.scores || all[i].Marking == nil {
						t.Errorf("%+v: a score %v, a marking %v", test, all[i].Score != nil, all[i].Marking != nil)
					}
				}
			}
			if _, err := store.AssignmentByID(ctx, tx, other, "quiz"); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("another organization finds the assignment: %v", err)
			}
			return nil
		})
		for name, do := range map[string]func(ctx context.Context, tx store.Tx) error{
			"hands in": func(ctx context.Context, tx store.Tx) error {
				_, err := f.AddHandIn(ctx, tx, store.HandIn{Assignment: "quiz", Organization: other, Reference: "p1", Score: store.Pack([]byte("x")), Marking: store.Pack([]byte("x"))})
				return err
			},
			"decides": func(ctx context.Context, tx store.Tx) error {
				return store.AddClassEntry(ctx, tx, store.ClassEntry{Assignment: "quiz", Organization: other, Content: "{}"}, 0)
			},
			"marks": func(ctx context.Context, tx store.Tx) error {
				return store.MarkHandIn(ctx, tx, store.HandIn{Assignment: "quiz", Organization: other, Reference: "p1", Attempt: 1, Marking: store.Pack([]byte("x"))})
			},
			"deletes": func(ctx context.Context, tx store.Tx) error { return store.DeleteAssignment(ctx, tx, other, "quiz") },
			"forgets": func(ctx context.Context, tx store.Tx) error {
				_, err := store.ForgetReference(ctx, tx, other, "quiz", "p1", "nowhere", nil)
				return err
			},
		} {
			if err := f.Write(t.Context(), func(tx store.Tx) error { return do(t.Context(), tx) }); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("another organization %s: %v", name, err)
			}
		}
	})
}

// Links and sessions of pupils go with the work that they are for: with a reference that is
// forgotten, with an assignment that is deleted or past its time; others stay.
func TestSessionsOfPupilsGoWithTheirWork(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		now := time.Now()
		c.Now = func() time.Time { return now }
		f := fixture{t, storetest.Open(t, c)}
		own := f.school("quiz")
		f.handsIn(own, "quiz", "p1")
		f.write(func(ctx context.Context, tx store.Tx) error {
			if err := f.CreateAssignment(ctx, tx, store.Assignment{ID: "next", Organization: own, Content: store.Pack([]byte("x")), Teachers: []string{"k"}}); err != nil {
				return err
			}
			for _, v := range []store.Session{{Assignment: "quiz", Subject: "p1"}, {Assignment: "quiz", Subject: "p2"}, {Assignment: "next", Subject: "p1"}, {Subject: "p1"}} {
				v.Organization, v.Hash, v.Role, v.Expires = own, v.Assignment+v.Subject, "pupil", now.Add(24*time.Hour)
				if _, err := f.CreateSession(ctx, tx, v); err != nil {
					return err
				}
			}
			return nil
		})
		left := func() (all []string) {
			f.read(func(ctx context.Context, tx store.Tx) error {
				all = nil
				return store.Each(ctx, tx, func(scan store.Scan) error {
					var one string
					err := scan(&one)
					all = append(all, one)
					return err
				}, `SELECT assignment || ' ' || subject FROM sessions ORDER BY 1`)
			})
			return all
		}
		for _, step := range []struct {
			what string
			do   func(ctx context.Context, tx store.Tx) error
			want string
		}{
			{"forgotten", func(ctx context.Context, tx store.Tx) error {
				_, err := store.ForgetReference(ctx, tx, own, "quiz", "p1", "nowhere", nil)
				return err
			}, " p1, next p1, quiz p2"},
			{"deleted", func(ctx context.Context, tx store.Tx) error { return store.DeleteAssignment(ctx, tx, own, "quiz") }, " p1, next p1"},
			{"past its time", func(ctx context.Context, tx store.Tx) error {
				now = now.Add(2 * time.Hour)
				_, err := f.ForgetAssignments(ctx, tx, time.Hour)
				return err
			}, " p1"},
		} {
			f.write(step.do)
			if got := strings.Join(left(), ", "); got != step.want {
				t.Errorf("%s: %q are left, want %q", step.what, got, step.want)
			}
		}
	})
}

// Who teaches an assignment is found by what they go by, in their own organization.
func TestTeachersOfAssignments(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		own, other := f.school("quiz"), f.school("another")
		f.write(func(ctx context.Context, tx store.Tx) error {
			return errors.Join(store.AddTeacher(ctx, tx, "another", "k1"), store.AddTeacher(ctx, tx, "another", "k1"), store.AddTeacher(ctx, tx, "another", "k2"),
				store.RemoveTeacher(ctx, tx, "another", "k2"))
		})
		f.read(func(ctx context.Context, tx store.Tx) error {
			for _, test := range []struct {
				name string
				want string
				ask  func() ([]string, error)
			}{
				{"its teachers", "k1", func() ([]string, error) { return store.Teachers(ctx, tx, "another") }},
				{"of k1", "another", func() ([]string, error) { return store.TaughtBy(ctx, tx, other, "k1") }},
				{"of k1 elsewhere", "", func() ([]string, error) { return store.TaughtBy(ctx, tx, own, "k1") }},
				{"of everybody", "quiz", func() ([]string, error) { return store.TaughtByAll(ctx, tx, own) }},
				{"of everybody elsewhere", "", func() ([]string, error) { return store.TaughtByAll(ctx, tx, other) }},
			} {
				if got, err := test.ask(); err != nil || strings.Join(got, " ") != test.want {
					t.Errorf("%s: %q, %v", test.name, got, err)
				}
			}
			return nil
		})
		if err := f.Write(t.Context(), func(tx store.Tx) error { return store.RemoveTeacher(t.Context(), tx, "another", "k2") }); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("taken twice: %v", err)
		}
	})
}

// An assignment goes when nothing was handed in for as long as its organization keeps
// things, or as the service does where it says nothing.
func TestRetentionOfAssignments(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		now := time.Now()
		c.Now = func() time.Time { return now }
		f := fixture{t, storetest.Open(t, c)}
		own := f.school("quiz")
		f.school("of another")
		set := func(retention time.Duration) {
			f.write(func(ctx context.Context, tx store.Tx) error {
				_, err := store.ChangeOrganization(ctx, tx, own, func(o *store.Organization) error { o.Retention = retention; return nil })
				return err
			})
		}
		forget := func(fallback time.Duration) (gone int64) {
			f.write(func(ctx context.Context, tx store.Tx) (err error) {
				gone, err = f.ForgetAssignments(ctx, tx, fallback)
				return err
			})
			return gone
		}
		now = now.Add(90 * time.Minute)
		f.write(func(ctx context.Context, tx store.Tx) error {
			part := store.Pack([]byte("x"))
			_, err := f.AddHandIn(ctx, tx, store.HandIn{Assignment: "quiz", Organization: own, Reference: "p1", Score: part, Marking: part, Received: now})
			return err
		})
		if n := forget(0); n != 0 {
			t.Errorf("%d went that stay for ever", n)
		}
		set(time.Hour)
		if n := forget(0); n != 0 {
			t.Errorf("%d went with fresh work in them", n)
		}
		now = now.Add(61 * time.Minute)
		if n := forget(0); n != 1 {
			t.Errorf("%d went after an hour", n)
		}
		if n := forget(time.Hour); n != 1 {
			t.Errorf("%d went after the hour of the service", n)
		}
	})
}

// Whoever decides has read what was decided before. A reference that is forgotten leaves
// its entries, about nobody; an organization that goes leaves nothing.
func TestDecisionsAndForgetting(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		own := f.school("quiz")
		f.handsIn(own, "quiz", "p1")
		f.handsIn(own, "quiz", "p2")
		enter := func(after int64, reference string) error {
			return f.Write(t.Context(), func(tx store.Tx) error {
				return store.AddClassEntry(t.Context(), tx, store.ClassEntry{Assignment: "quiz", Organization: own, Reference: reference, Content: "about " + reference}, after)
			})
		}
		for i, reference := range []string{"p1", "p2", "p1"} {
			if err := enter(int64(i), reference); err != nil {
				t.Fatal(err)
			}
		}
		if err := enter(1, "p1"); !errors.Is(err, store.ErrMeanwhile) {
			t.Errorf("decided on what was read too early: %v", err)
		}
		f.write(func(ctx context.Context, tx store.Tx) error {
			n, err := store.ForgetReference(ctx, tx, own, "quiz", "p1", "nowhere", func(text string) (string, error) {
				return strings.ReplaceAll(text, "p1", "nowhere"), nil
			})
			if n != 1 {
				t.Errorf("%d attempts forgotten", n)
			}
			return err
		})
		f.read(func(ctx context.Context, tx store.Tx) error {
			entries, err := store.ClassEntries(ctx, tx, own, "quiz")
			var got []string
			for _, e := range entries {
				got = append(got, e.Reference+": "+e.Content)
			}
			if want := "nowhere: about nowhere, p2: about p2, nowhere: about nowhere"; strings.Join(got, ", ") != want {
				t.Errorf("the log: %v", got)
			}
			return err
		})
		f.write(func(ctx context.Context, tx store.Tx) error { return store.DeleteOrganization(ctx, tx, own) })
		f.read(func(ctx context.Context, tx store.Tx) error {
			left := 0
			for _, table := range []string{"assignments", "hand_ins", "class_entries"} {
				if err := store.Each(ctx, tx, func(scan store.Scan) error { return scan(&left) }, `SELECT count(*) FROM `+table); err != nil || left != 0 {
					t.Errorf("%s: %d left, %v", table, left, err)
				}
			}
			return nil
		})
	})
}
