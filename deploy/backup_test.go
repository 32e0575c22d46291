package deploy_test

import (
	"crypto/rand"
	"net/url"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// desk is a service on a database, to be backed up and restored.
type desk struct {
	*testing.T
	data *store.Store
	*batch.Service
}

func newDesk(t *testing.T, c store.Config, pool batch.Pool) *desk {
	t.Helper()
	data := storetest.Open(t, c)
	service, err := batch.Open(t.Context(), batch.Config{Store: data, Pool: pool, Version: "test", ChunkScores: 2})
	if err == nil {
		err = service.Start(t.Context())
	}
	if err != nil {
		t.Fatal(err)
	}
	return &desk{t, data, service}
}

func (d *desk) leave() {
	d.Helper()
	if err := d.Stop(d.Context()); err != nil {
		d.Error(err)
	}
	if err := d.data.Close(); err != nil {
		d.Error(err)
	}
}

// reports waits for a batch and returns its reports.
func (d *desk) reports(id string, n int) []string {
	d.Helper()
	for until := time.Now().Add(30 * time.Second); time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
		page, err := d.Results(d.Context(), store.ResultQuery{Organization: store.SingleUser, Batch: id, Limit: 100, Reports: true})
		if err != nil {
			d.Fatal(err)
		}
		if len(page) < n {
			continue
		}
		var all []string
		for _, r := range page {
			text, err := r.Report.Unpack()
			if err != nil {
				d.Fatal(err)
			}
			all = append(all, string(text))
		}
		return all
	}
	d.Fatalf("%d results did not come", n)
	return nil
}

// A copy of a service that is at work, restored elsewhere, holds every answer that
// was there, and answers what was not answered yet.
func TestRestoredCopyGoesOn(t *testing.T) {
	pool, err := pool.New(pool.Config{}, &worker.Engine{Version: "test"}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	score := read(t, "../testdata/class/hand-in.musicxml")
	storetest.Each(t, func(t *testing.T, c store.Config) {
		needs(t, "sqlite3", "pg_dump", "pg_restore", "psql")
		file := filepath.Join(t.TempDir(), "copy")
		from, c := place(t, c)
		to, restored := place(t, c)
		order := batch.Order{Organization: store.SingleUser, Items: different([][]byte{score}, 5)}

		first := newDesk(t, c, pool)
		answered, err := first.Create(t.Context(), order)
		if err != nil {
			t.Fatal(err)
		}
		before := first.reports(answered.ID, 5)
		first.leave()
		idle := newDesk(t, c, nil) // nobody works on what comes now
		waiting, err := idle.Create(t.Context(), order)
		if err != nil {
			t.Fatal(err)
		}
		began := time.Now().Add(-time.Second) // the script counts whole seconds
		run(t, "./backup", from, file)
		err = idle.data.Read(t.Context(), func(tx store.Tx) error {
			made, err := store.LastBackup(t.Context(), tx)
			if err == nil && (made.Before(began) || made.After(time.Now())) {
				t.Errorf("the service takes the copy for one of %s", made)
			}
			return err
		})
		if err != nil {
			t.Error(err)
		}
		idle.leave()

		run(t, "./restore", file, to)
		if exec.Command("./restore", file, to).Run() == nil { // #nosec G204 -- the test's own words
			t.Error("a copy was restored over data that were there")
		}
		second := newDesk(t, restored, pool)
		defer second.leave()
		if after := second.reports(answered.ID, 5); strings.Join(after, "") != strings.Join(before, "") {
			t.Error("the answers are not those that were there")
		}
		if after := second.reports(waiting.ID, 5); strings.Join(after, "") != strings.Join(before, "") {
			t.Error("what waited was answered otherwise")
		}
	})
}

// place is an empty place of the same kind as c: what the scripts call it, and the
// service.
func place(t *testing.T, c store.Config) (string, store.Config) {
	t.Helper()
	if c.URL == "" {
		dir := filepath.Join(t.TempDir(), "data")
		return dir, store.Config{Dir: dir}
	}
	// A database of its own, not only a schema: a copy is of a whole one.
	u, err := url.Parse(c.URL)
	if err != nil {
		t.Fatal(err)
	}
	query := u.Query()
	query.Del("search_path")
	u.RawQuery = query.Encode()
	server := u.String()
	name := "copy_" + strings.ToLower(rand.Text())
	run(t, "psql", "--quiet", "--dbname="+server, "--command=CREATE DATABASE "+name)
	t.Cleanup(func() {
		run(t, "psql", "--quiet", "--dbname="+server, "--command=DROP DATABASE "+name+" WITH (FORCE)")
	})
	u.Path = "/" + name
	return u.String(), store.Config{URL: u.String()}
}

func needs(t *testing.T, programs ...string) {
	t.Helper()
	for _, program := range programs {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("%s is not installed", program)
		}
	}
}

func run(t *testing.T, program string, args ...string) {
	t.Helper()
	if out, err := exec.Command(program, args...).CombinedOutput(); err != nil { // #nosec G204 -- the tests' own words
		t.Fatalf("%s %s: %v\n%s", program, strings.Join(args, " "), err, out)
	}
}
