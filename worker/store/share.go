package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
)

// What stands where a blob is kept is told by its first byte: a packed document begins
// with Zstandard's magic number, 0x28 (RFC 8878, section 3.1.1). The others carry the size
// of what is packed in the four bytes after the first.
const (
	// byName is a part of an answer that stands in the table blobs.
	byName = 0x00
	// outside is a place in the storage beside the database; see [Config].
	outside = 0x01
	// gone is a place where nothing was found. It stands in no row.
	gone = 0x02
)

const (
	headSize = 1 + 4
	nameSize = headSize + sha256.Size
)

// head begins what stands for a packed document of some size.
func head(kind byte, size int) []byte {
	return binary.BigEndian.AppendUint32([]byte{kind}, uint32(size)) // #nosec G115 -- the packer makes no 4 GiB: it takes less
}

// name is what stands in a result for a packed document.
func (b Blob) name() Blob {
	sum := sha256.Sum256(b)
	return append(head(byName, len(b)), sum[:]...)
}

func (b Blob) isName() bool    { return len(b) == nameSize && b[0] == byName }
func (b Blob) isOutside() bool { return len(b) > headSize && b[0] == outside }

func (b Blob) isGone() bool { return len(b) > 0 && b[0] == gone }

// size is how many bytes the packed document has, wherever it is.
func (b Blob) size() int64 {
	if b.isName() || b.isOutside() {
		return int64(binary.BigEndian.Uint32(b[1:]))
	}
	return int64(len(b))
}

// partNames are the columns of results that hold blobs.
var partNames = [...]string{"report", "marked", "analysis", "mending", "voicing"}

// parts are the blobs of an answer, in the order of [partNames].
func (r *NewResult) parts() [len(partNames)]*Blob {
	return [...]*Blob{&r.Report, &r.Marked, &r.Analysis, &r.Mending, &r.Voicing}
}

// partColumn reads a part of results r: the blob, or its place outside.
func partColumn(name string) string {
	return `coalesce((SELECT x.packed FROM blobs x WHERE x.organization_id = r.organization_id AND x.name = r.` + name + `), r.` + name + `)`
}

// use is a blob that is used so many times more.
type use struct {
	name, packed Blob
	// place is where it was carried to, nil for nowhere.
	place Blob
	times int64
}

// share keeps the parts of some answers, each once, and returns what stands in the
// results for them. All writers take the rows in the same order, so that none waits for
// one that waits for it.
func share(ctx context.Context, tx Tx, organization string, results []NewResult) ([][len(partNames)]any, error) {
	used := map[string]*use{}
	rows := make([][len(partNames)]any, len(results))
	for i := range results {
		for p, part := range results[i].parts() {
			if *part == nil {
				continue
			}
			if part.isOutside() || part.isGone() {
				return nil, fmt.Errorf("%w: an answer cannot be made of it", ErrBlobGone)
			}
			name := part.name()
			rows[i][p] = []byte(name)
			u := used[string(name)]
			if u == nil {
				u = &use{name: name, packed: *part, place: results[i].carried[string(name)]}
				used[string(name)] = u
			}
			u.times++
		}
	}
	all := make([]*use, 0, len(used))
	for _, u := range used {
		all = append(all, u)
	}
	slices.SortFunc(all, func(a, b *use) int { return bytes.Compare(a.name, b.name) })
	more := make([][]any, len(all))
	for i, u := range all {
		more[i] = []any{u.times, orNull(u.place), organization, []byte(u.name)}
	}
	// Counted first: what is there already need not be sent. What was carried although there
	// is a row was gone, or was carried by two at once; where the other lies it is swept.
	changed, err := tx.many(ctx, `UPDATE blobs SET uses = uses + $1, packed = coalesce($2, packed) WHERE organization_id = $3 AND name = $4`, more)
	if err != nil {
		return nil, err
	}
	var missing [][]any
	for i, u := range all {
		if changed[i] > 0 {
			continue
		}
		kept := u.packed
		if u.place != nil {
			kept = u.place
		}
		missing = append(missing, []any{organization, []byte(u.name), u.times, []byte(kept)})
	}
	_, err = tx.many(ctx, `INSERT INTO blobs (organization_id, name, uses, packed) VALUES ($1, $2, $3, $4)
		ON CONFLICT (organization_id, name) DO UPDATE SET uses = blobs.uses + excluded.uses`, missing)
	return rows, err
}

// namesOf lists the names that some results r hold, each as often as it stands there.
func namesOf(ctx context.Context, tx Tx, which string, args ...any) ([]Blob, error) {
	columns := make([]string, len(partNames))
	for i, name := range partNames {
		columns[i] = fmt.Sprintf(`CASE WHEN length(r.%[1]s) = %[2]d THEN r.%[1]s END`, name, nameSize)
	}
	var names []Blob
	err := tx.each(ctx, func(from row) error {
		var parts [len(partNames)][]byte
		err := from.Scan(&parts[0], &parts[1], &parts[2], &parts[3], &parts[4])
		for _, p := range parts {
			if Blob(p).isName() {
				names = append(names, p)
			}
		}
		return err
	}, `SELECT `+strings.Join(columns, ", ")+` FROM results r WHERE `+which, args...)
	return names, err
}

// release takes back uses of blobs by results that are deleted, and deletes those that
// nothing uses any more.
func release(ctx context.Context, tx Tx, organization string, names []Blob) error {
	slices.SortFunc(names, func(a, b Blob) int { return bytes.Compare(a, b) })
	var less [][]any
	var last []Blob
	for _, name := range names {
		if n := len(last); n > 0 && bytes.Equal(last[n-1], name) {
			less[n-1][0] = less[n-1][0].(int64) + 1
			continue
		}
		last = append(last, name)
		less = append(less, []any{int64(1), organization, []byte(name)})
	}
	if _, err := tx.many(ctx, `UPDATE blobs SET uses = uses - $1 WHERE organization_id = $2 AND name = $3`, less); err != nil {
		return err
	}
	return inGroups(last, func(list string, names []any) error {
		return deleteKept(ctx, tx, `DELETE FROM blobs WHERE uses <= 0 AND organization_id = $1 AND name IN (`+list+`)`, append([]any{organization}, names...)...)
	})
}

// groupSize bounds the arguments of a statement.
const groupSize = 200

// inGroups calls f with the keys in groups, as arguments from the second on and as a list
// of their numbers.
func inGroups[K any](keys []K, f func(list string, args []any) error) error {
	for group := range slices.Chunk(keys, groupSize) {
		numbers, args := make([]string, len(group)), make([]any, len(group))
		for i, key := range group {
			numbers[i], args[i] = fmt.Sprintf("$%d", i+2), key
		}
		if err := f(strings.Join(numbers, ", "), args); err != nil {
			return err
		}
	}
	return nil
}

// mostPlace is the longest place outside, in bytes.
const mostPlace = 400

// deleteKept deletes rows that hold something packed, and notes the places outside of what
// they held for [Store.RemoveBlobs].
func deleteKept(ctx context.Context, tx Tx, statement string, args ...any) error {
	var places [][]any
	err := tx.each(ctx, func(r row) error {
		var packed []byte
		err := r.Scan(&packed)
		if Blob(packed).isOutside() {
			places = append(places, []any{packed})
		}
		return err
	}, statement+fmt.Sprintf(` RETURNING CASE WHEN length(packed) <= %d THEN packed END`, mostPlace), args...)
	if err != nil || len(places) == 0 {
		return err
	}
	_, err = tx.many(ctx, `INSERT INTO removals (place) VALUES ($1) ON CONFLICT DO NOTHING`, places)
	return err
}

// notePlaces notes the places outside of everything that an organization has in a table.
func notePlaces(ctx context.Context, tx Tx, table, organization string) error {
	_, err := tx.exec(ctx, fmt.Sprintf(`INSERT INTO removals (place) SELECT packed FROM %s
		WHERE organization_id = $1 AND length(packed) <= %d AND packed >= $2 AND packed < $3 ON CONFLICT DO NOTHING`, table, mostPlace),
		organization, []byte{outside}, []byte{outside + 1})
	return err
}

func (r *Result) parts() [len(partNames)]*Blob {
	return [...]*Blob{&r.Report, &r.Marked, &r.Analysis, &r.Mending, &r.Voicing}
}

// Blobs are the parts of an answer that were asked for.
func (r *Result) Blobs() []*Blob {
	var all []*Blob
	for _, part := range r.parts() {
		if *part != nil {
			all = append(all, part)
		}
	}
	return all
}
