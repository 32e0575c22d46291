package request

import (
	"errors"
	"fmt"
	"slices"
)

// Request is what has fields. They belong to it: setting one changes it.
type Request interface{ Fields() []Field }

// Values are texts by the names of fields.
type Values map[string]Source

// Bind makes a request of what was said: fields that nothing is said of have their
// defaults. What is wrong is an [*Error].
func Bind(r Request, said Values) error {
	fields := r.Fields()
	for i := range fields {
		f := &fields[i]
		if err := f.set(Source{Text: f.Default}); err != nil {
			panic("request: the default of " + f.Name + " is none: " + err.Error()) // a mistake of ours
		}
	}
	for name := range said {
		if !slices.ContainsFunc(fields, func(f Field) bool { return f.Name == name }) {
			return &Error{name, errors.New("nothing of that name can be asked for here")}
		}
	}
	for i := range fields {
		if s, ok := said[fields[i].Name]; ok {
			if err := fields[i].bind(s, said); err != nil {
				return &Error{fields[i].Name, err}
			}
		}
	}
	return nil
}

// bind sets a field to what was said, beside what else was.
func (f *Field) bind(s Source, said Values) error {
	if f.Group != "" && said[f.Group].Text != "true" {
		return fmt.Errorf("it means something only with %s", f.Group)
	}
	if f.Kind == File && s.Text == "" {
		return errors.New("it is empty")
	}
	if other, both := said[f.InsteadOf]; both && other.Text != "" {
		return ErrBoth
	}
	if err := f.check(s); err != nil {
		return err
	}
	if err := f.set(s); err != nil {
		return err
	}
	return f.bounded(s)
}

// ErrBoth is the error of a name and a file of one's own for the same thing.
var ErrBoth = errors.New("there is one by name and one of your own; only one can apply")

// Defaults makes a request in which nothing is asked for.
func Defaults[R Request](r R) R {
	if err := Bind(r, nil); err != nil {
		panic(err) // nothing was said that could be wrong
	}
	return r
}
