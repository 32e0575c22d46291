package collection

import (
	"errors"
	"io"
	"maps"
	"slices"

	"partwright/worker/files"
	"partwright/worker/report"
)

// Folder writes tables into a folder for answers, under tables/ENGINE/BATCH, each with
// its name when it is whole, and a manifest last.
type Folder struct {
	*Tables
	dir   *files.OutDir
	place string
	parts map[string]*files.Part
}

// OpenFolder begins the tables of a collection, with one of a catalogue unless that is nil.
// End them by Close or [Folder.Discard].
func OpenFolder(dir *files.OutDir, origin Origin, catalogue *Catalogue) (*Folder, error) {
	f := &Folder{dir: dir, place: dir.Claim("tables/" + origin.Engine + "/" + origin.Batch), parts: map[string]*files.Part{}}
	to := map[string]io.Writer{}
	names := Names
	if catalogue != nil {
		names = append(slices.Clone(names), CatalogueTable)
	}
	for _, name := range names {
		part, err := dir.Create(f.place + "/" + name + ".parquet")
		if err != nil {
			f.Discard()
			return nil, err
		}
		f.parts[name], to[name] = part, part
	}
	f.Tables = Open(origin, to)
	if catalogue != nil {
		f.With(catalogue, to[CatalogueTable])
	}
	return f, nil
}

// Close ends the tables and gives them their names; on an error there are none.
func (f *Folder) Close() error {
	if err := f.Tables.Close(); err != nil {
		f.Discard()
		return err
	}
	var err error
	for _, name := range slices.Sorted(maps.Keys(f.parts)) {
		err = errors.Join(err, f.parts[name].Commit())
		delete(f.parts, name)
	}
	manifest, jsonErr := f.Manifest().JSON()
	if err = errors.Join(err, jsonErr); err != nil {
		return err
	}
	return f.dir.Write(f.place+"/manifest.json", manifest)
}

// Discard removes what is not whole.
func (f *Folder) Discard() {
	for _, part := range f.parts {
		part.Discard()
	}
	clear(f.parts)
}

var _ report.Encoder = (*Folder)(nil)
