package store

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"partwright/worker/address"
)

// Errors of the storage outside the database.
var (
	// ErrBlobs is returned where scores and answers lie outside the database and cannot be
	// reached just now.
	ErrBlobs = errors.New("the storage of scores and answers cannot be reached")
	// ErrBlobGone is returned where a document that a row refers to is not to be found.
	ErrBlobGone = errors.New("a stored document is gone")
)

// storage is where packed documents lie outside the database, below a folder or prefix:
// ORGANIZATION/KIND/HH/HASH-SIZE-MOMENT. HASH is the SHA-256 of a score, or of what is
// packed of an answer, and HH how it begins. No name is given twice, so that what is to be
// removed can be, whenever and by whomever, beside others that store the same.
type storage struct {
	address.Storage
	root string
	// parts is the folder of what is not whole yet, "" with object storage.
	parts string
	now   func() time.Time
}

// Kinds of what lies outside.
const (
	scoreKind  = "scores"
	answerKind = "answers"
)

// markName is what tells a storage from that of another database.
const markName = "partwright-blobs"

// atOnce is how many documents are read, written or removed at the same time.
const atOnce = 16

// openBlobs takes a storage into use. One database has one, which its mark tells: a disk
// that is not there must not look like an empty one, and two databases in one folder would
// each remove what belongs to the other.
func (s *Store) openBlobs(ctx context.Context, c Config) error {
	if c.Blobs == "" {
		if c.Beside {
			return nil // it deletes rows at most
		}
		return s.needsNoBlobs(ctx)
	}
	b := &storage{root: c.Blobs, now: s.now}
	config := address.Config{}
	if !address.IsObjects(c.Blobs) {
		dir, err := filepath.Abs(strings.TrimPrefix(c.Blobs, "file://"))
		if err != nil {
			return err
		}
		b.root, b.parts = dir, filepath.Join(dir, ".parts")
		config.Parts = b.parts
	}
	b.Storage = address.Open(config)
	s.blobs = b
	return s.alone(ctx, func() error { return s.mark(ctx) })
}

// needsNoBlobs refuses to go on without the storage that a database has had.
func (s *Store) needsNoBlobs(ctx context.Context) error {
	var at string
	err := s.Read(ctx, func(tx Tx) error {
		return one(ctx, tx, []any{&at}, `SELECT address FROM blob_storage WHERE used = 1`)
	})
	if errors.Is(err, ErrNotFound) {
		return nil
	}
	if err == nil {
		err = fmt.Errorf("scores and answers of this database lie outside it, at %s: say so with --blobs", at)
	}
	return err
}

// mark compares the mark of the storage with that of the database, or makes both.
func (s *Store) mark(ctx context.Context) error {
	var mark, at string
	var used int64
	err := s.Write(ctx, func(tx Tx) error {
		_, err := tx.exec(ctx, `INSERT INTO blob_storage (id, mark, address) VALUES (1, $1, $2) ON CONFLICT (id) DO NOTHING`, rand.Text(), s.blobs.root)
		if err != nil {
			return err
		}
		return one(ctx, tx, []any{&mark, &at, &used}, `SELECT mark, address, used FROM blob_storage`)
	})
	if err != nil {
		return err
	}
	place := address.Join(s.blobs.root, markName)
	there, err := s.blobs.Has(ctx, place)
	if err == nil && !there && used == 0 {
		_, err = s.blobs.put(ctx, markName, []byte(mark))
		there = true
	}
	if err != nil {
		return fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	if !there {
		return fmt.Errorf("%s has no %s: it is not where the scores and answers of this database lie, which was %s; mount that, or copy all of it", s.blobs.root, markName, at)
	}
	found, err := s.blobs.Read(ctx, place, 100)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	if string(found) != mark {
		return fmt.Errorf("%s holds scores and answers of another database: name a folder or prefix of its own", s.blobs.root)
	}
	return s.Write(ctx, func(tx Tx) error {
		_, err := tx.exec(ctx, `UPDATE blob_storage SET used = 1, address = $1`, s.blobs.root)
		return err
	})
}

// isThere tells a storage from the empty folder where its disk was mounted.
func (b *storage) isThere(ctx context.Context) error {
	there, err := b.Has(ctx, address.Join(b.root, markName))
	if err == nil && !there {
		err = fmt.Errorf("%s has no %s: is its disk mounted?", b.root, markName)
	}
	if err != nil && ctx.Err() == nil {
		err = fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	return err
}

// put writes something that is not there yet and returns what stands for it in a row. A
// name that is there already came from a try whose answer was lost: no other has it.
func (b *storage) put(ctx context.Context, name string, packed []byte) (place Blob, err error) {
	part, err := b.Create(ctx, address.Join(b.root, name))
	if err != nil {
		return nil, err
	}
	if _, err = part.Write(packed); err != nil {
		part.Discard()
		return nil, err
	}
	_, err = part.Commit(ctx)
	return append(head(outside, len(packed)), name...), err
}

// newName is a name for a document of an organization that no other has.
func (b *storage) newName(organization, kind, hash string, size int) string {
	return fmt.Sprintf("%s/%s/%s/%s-%x-%08x%s", organization, kind, hash[:2], hash, size, b.now().Unix(), rand.Text()[:12])
}

// namedBlob is what a name says.
type namedBlob struct {
	organization, kind, hash string
	size                     int64
	written                  time.Time
	place                    Blob
}

// parseName reads a name, relative to the root; ok is false for files of others.
func parseName(name string) (n namedBlob, ok bool) {
	parts := strings.Split(name, "/")
	if len(parts) != 4 {
		return n, false
	}
	last := strings.Split(parts[3], "-")
	if len(last) != 3 || len(last[0]) != 2*sha256.Size || len(last[2]) < 8 {
		return n, false
	}
	size, err := strconv.ParseUint(last[1], 16, 32)
	moment, momentErr := strconv.ParseInt(last[2][:8], 16, 64)
	if errors.Join(err, momentErr) != nil {
		return n, false
	}
	return namedBlob{
		organization: parts[0], kind: parts[1], hash: last[0], size: int64(size), // #nosec G115 -- of 32 bits
		written: time.Unix(moment, 0), place: append(head(outside, int(size)), name...),
	}, true
}

// together calls f for each of n, several at a time, and returns the first error.
func together(n int, f func(i int) error) error {
	errs := make([]error, n)
	var all sync.WaitGroup
	for from := range min(n, atOnce) {
		all.Go(func() {
			for i := from; i < n && errs[from] == nil; i += atOnce {
				errs[from] = f(i)
			}
		})
	}
	all.Wait()
	return errors.Join(errs...)
}

// Fetch reads those documents that lie outside the database. One that is gone says so when
// it is unpacked, by [ErrBlobGone]. Any other error is [ErrBlobs].
func (s *Store) Fetch(ctx context.Context, blobs ...*Blob) error {
	blobs = slices.DeleteFunc(slices.Clone(blobs), func(b *Blob) bool { return !b.isOutside() })
	if len(blobs) == 0 {
		return nil
	}
	if s.blobs == nil {
		return fmt.Errorf("%w: this process was not told where it is", ErrBlobs)
	}
	return together(len(blobs), func(i int) error { return s.fetch(ctx, blobs[i]) })
}

func (s *Store) fetch(ctx context.Context, b *Blob) error {
	name := string((*b)[headSize:])
	packed, err := s.blobs.Read(ctx, address.Join(s.blobs.root, name), b.size())
	switch {
	case err == nil && sound(*b, name, packed):
		*b = packed
		return nil
	case ctx.Err() != nil:
		return ctx.Err()
	case address.IsRetryable(err):
		return fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	// What is there and another, or not allowed, does not come back by itself either.
	if err := s.blobs.isThere(ctx); err != nil {
		return err
	}
	*b = append([]byte{gone}, name...)
	return nil
}

// sound tells whether what was read is what was written.
func sound(place Blob, name string, packed []byte) bool {
	n, ok := parseName(name)
	if !ok || int64(len(packed)) != place.size() {
		return false
	}
	if n.kind == scoreKind {
		return true // its hash is that of the score; Zstandard has a checksum of its own
	}
	sum := sha256.Sum256(packed)
	return hex.EncodeToString(sum[:]) == n.hash
}

// Gone counts those of some blobs that were not to be found.
func Gone(blobs ...*Blob) (n int) {
	for _, b := range blobs {
		if b.isGone() {
			n++
		}
	}
	return n
}

// carried are the places outside of blobs, by their names.
type carried map[string]Blob

// CarryResults writes what is not there yet of some answers to the storage outside, if
// there is one, before the transaction that saves them: that takes longer than others can
// wait. What is never saved lies there until [Store.SweepBlobs] finds it. Answers that are
// not carried are kept in the database.
func (s *Store) CarryResults(ctx context.Context, organization string, results []NewResult) error {
	if s.blobs == nil {
		return nil
	}
	packed := map[string]Blob{}
	for i := range results {
		if results[i].carried != nil {
			continue
		}
		for _, part := range results[i].parts() {
			if *part != nil {
				packed[string(part.name())] = *part
			}
		}
	}
	places := carried{}
	err := s.carry(ctx, organization, answerKind, "blobs", "name", packed,
		func(name string) string { return hex.EncodeToString([]byte(name[headSize:])) },
		func(name string, place Blob) { places[name] = place })
	if err != nil {
		return err
	}
	for i := range results {
		if results[i].carried == nil {
			results[i].carried = places
		}
	}
	return nil
}

// CarryMembers does the same for scores that are to be added.
func (s *Store) CarryMembers(ctx context.Context, organization string, members []NewMember) error {
	if s.blobs == nil {
		return nil
	}
	packed := map[string]Blob{}
	for i := range members {
		if m := &members[i]; m.Problem == nil && m.Score.place == nil {
			packed[m.Score.Hash] = m.Score.blob
		}
	}
	places := map[string]Blob{}
	err := s.carry(ctx, organization, scoreKind, "scores", "hash", packed,
		func(hash string) string { return hash },
		func(hash string, place Blob) { places[hash] = place })
	for i := range members {
		if place := places[members[i].Score.Hash]; place != nil {
			members[i].Score.place = place
		}
	}
	return err
}

// carry writes those documents, by their keys, that a table has no row for, or that are
// gone from where the row says.
func (s *Store) carry(ctx context.Context, organization, kind, table, key string, packed map[string]Blob, hash func(string) string, carried func(string, Blob)) error {
	var keys []any
	for k := range packed {
		if kind == scoreKind {
			keys = append(keys, k)
		} else {
			keys = append(keys, []byte(k))
		}
	}
	there := map[string]Blob{}
	err := s.Read(ctx, func(tx Tx) error {
		return inGroups(keys, func(list string, args []any) error {
			return tx.each(ctx, func(r row) error {
				var hash string
				var name, place []byte
				var err error
				if kind == scoreKind {
					err = r.Scan(&hash, &place)
				} else {
					err = r.Scan(&name, &place)
				}
				there[hash+string(name)] = bytes.Clone(place)
				return err
			}, fmt.Sprintf(`SELECT %s, CASE WHEN length(packed) <= %d THEN packed END FROM %s WHERE`, key, mostPlace, table)+` organization_id = $1 AND `+key+` IN (`+list+`)`, append([]any{organization}, args...)...)
		})
	})
	if err != nil {
		return err
	}
	if s.blobs.parts != "" && len(packed) > 0 {
		if err := s.blobs.isThere(ctx); err != nil {
			return err
		}
	}
	wanted := make([]string, 0, len(packed))
	for k := range packed {
		wanted = append(wanted, k)
	}
	var mu sync.Mutex
	err = together(len(wanted), func(i int) error {
		k := wanted[i]
		if kept, err := s.blobs.holds(ctx, there, k); kept || err != nil {
			return err
		}
		place, err := s.blobs.put(ctx, s.blobs.newName(organization, kind, hash(k), len(packed[k])), packed[k])
		if err == nil {
			mu.Lock()
			defer mu.Unlock()
			carried(k, place)
		}
		return err
	})
	if err != nil && ctx.Err() == nil {
		err = fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	return err
}

// holds tells whether a row knows a document that is where the row says.
func (b *storage) holds(ctx context.Context, rows map[string]Blob, key string) (bool, error) {
	place, known := rows[key]
	if !known || !place.isOutside() {
		return known, nil
	}
	return b.Has(ctx, address.Join(b.root, string(place[headSize:])))
}

// removedAtOnce is how many places are taken from the database in one transaction.
const removedAtOnce = 500

// RemoveBlobs removes what lies outside and whose rows are gone. A kill in between leaves
// it to the next call, of this process or another, and so does what cannot be removed: the
// first error says why, once the others are removed.
func (s *Store) RemoveBlobs(ctx context.Context) error {
	var failed error
	for after := []byte{}; s.blobs != nil; {
		places, err := s.removals(ctx, after)
		if err != nil || len(places) == 0 {
			return cmp.Or(err, failed)
		}
		after = places[len(places)-1]
		removed, err := s.remove(ctx, places)
		failed = cmp.Or(failed, err)
		if len(removed) == 0 {
			return failed // it is the storage, not the place
		}
		err = s.Write(ctx, func(tx Tx) error {
			_, err := tx.many(ctx, `DELETE FROM removals WHERE place = $1`, removed)
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// removals are the first places to remove that come after one.
func (s *Store) removals(ctx context.Context, after []byte) (places []Blob, err error) {
	err = s.Read(ctx, func(tx Tx) error {
		places = nil
		return tx.each(ctx, func(r row) error {
			var place []byte
			err := r.Scan(&place)
			places = append(places, bytes.Clone(place))
			return err
		}, `SELECT place FROM removals WHERE place > $1 ORDER BY place LIMIT $2`, after, removedAtOnce)
	})
	return places, err
}

// remove returns the rows of those places that are empty now, and why others are not.
func (s *Store) remove(ctx context.Context, places []Blob) (removed [][]any, err error) {
	errs := make([]error, len(places))
	_ = together(len(places), func(i int) error {
		errs[i] = s.blobs.Remove(ctx, address.Join(s.blobs.root, string(places[i][headSize:])))
		return nil
	})
	for i, place := range places {
		if errs[i] == nil {
			removed = append(removed, []any{[]byte(place)})
		}
	}
	if err = cmp.Or(errs...); err != nil && ctx.Err() == nil {
		err = fmt.Errorf("%w: %w", ErrBlobs, err)
	}
	return removed, err
}

// SweepBlobs looks at the next limit names outside and removes what belongs to no row and
// is older than an age: what a killed process had carried there and never saved. No save
// may take as long as that age. It returns how many it removed, and whether it came to the
// end; the next call begins anew then.
func (s *Store) SweepBlobs(ctx context.Context, age time.Duration, limit int) (removed int, end bool, err error) {
	if s.blobs == nil {
		return 0, true, nil
	}
	before := s.now().Add(-age)
	if s.blobs.parts != "" {
		if err := address.ForgetParts(s.blobs.parts, before); err != nil {
			return 0, false, fmt.Errorf("%w: %w", ErrBlobs, err)
		}
	}
	var after string
	err = s.Read(ctx, func(tx Tx) error {
		return one(ctx, tx, []any{&after}, `SELECT swept FROM blob_storage`)
	})
	if err != nil {
		return 0, false, err
	}
	old, last, err := s.blobs.older(ctx, before, after, limit)
	if err != nil {
		return 0, false, err
	}
	var orphans []Blob
	err = s.Read(ctx, func(tx Tx) (err error) {
		orphans, err = withoutRows(ctx, tx, old)
		return err
	})
	if err != nil {
		return 0, false, err
	}
	gone, failed := s.remove(ctx, orphans)
	if failed != nil && len(gone) == 0 {
		return 0, false, failed
	}
	// What stays comes again when the sweep begins anew.
	err = s.Write(ctx, func(tx Tx) error {
		_, err := tx.exec(ctx, `UPDATE blob_storage SET swept = $1`, last)
		return err
	})
	return len(gone), last == "", cmp.Or(err, failed)
}

// older lists what was written before a moment among the next limit names, and the name
// that it came to, "" at the end.
func (b *storage) older(ctx context.Context, before time.Time, after string, limit int) (old []namedBlob, last string, err error) {
	from := ""
	if after != "" {
		from = address.Join(b.root, after)
	}
	n := 0
	for at, err := range b.List(ctx, address.Join(b.root, ""), from) {
		if err != nil {
			return nil, "", fmt.Errorf("%w: %w", ErrBlobs, err)
		}
		name := strings.TrimPrefix(at, address.Join(b.root, ""))
		if named, ok := parseName(name); ok && named.written.Before(before) {
			old = append(old, named)
		}
		if n++; n == limit {
			return old, name, nil
		}
	}
	return old, "", nil
}

// withoutRows returns the places of those that no row holds.
func withoutRows(ctx context.Context, tx Tx, all []namedBlob) (orphans []Blob, err error) {
	for i := range all {
		n := &all[i]
		statement, key := `SELECT count(*) FROM scores WHERE organization_id = $1 AND hash = $2 AND packed = $3`, any(n.hash)
		if n.kind == answerKind {
			sum, err := hex.DecodeString(n.hash)
			if err != nil {
				continue // none of ours
			}
			statement, key = `SELECT count(*) FROM blobs WHERE organization_id = $1 AND name = $2 AND packed = $3`, append(head(byName, int(n.size)), sum...)
		}
		var rows int64
		if err := one(ctx, tx, []any{&rows}, statement, n.organization, key, []byte(n.place)); err != nil {
			return nil, err
		}
		if rows == 0 {
			orphans = append(orphans, n.place)
		}
	}
	return orphans, nil
}
