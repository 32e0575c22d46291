package request

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
)

// Encode writes a request as a JSON object that holds what is not the default, in
// the order of its fields, so that the same request is always the same text. Groups
// are objects of their own. It is kept with batches and must stay readable.
func Encode(r Request) []byte { return encode(r, (*Field).json) }

// describe is [Encode] with the hash of each file in its place, so that it can be read and
// says nothing of what is in them.
func describe(r Request) json.RawMessage {
	return encode(r, func(f *Field) []byte {
		if f.Kind != File {
			return f.json()
		}
		return quoted(fmt.Sprintf("sha256:%x", sha256.Sum256([]byte(f.Value()))))
	})
}

func encode(r Request, value func(*Field) []byte) []byte {
	fields := r.Fields()
	top := &object{}
	groups := map[string]*object{}
	for i := range fields {
		f := &fields[i]
		if f.Group == "" && isGroup(fields, f.Name) {
			if f.Value() == "true" {
				groups[f.Name] = &object{}
			}
			continue
		}
		to := top
		if f.Group != "" {
			to = groups[f.Group]
		}
		if to != nil && !f.Passing && f.Value() != f.Default {
			to.add(f.key, value(f))
		}
	}
	for i := range fields {
		if group := groups[fields[i].Name]; group != nil {
			top.add(fields[i].Name, group.close())
		}
	}
	return top.close()
}

func isGroup(fields []Field, name string) bool {
	for i := range fields {
		if fields[i].Group == name {
			return true
		}
	}
	return false
}

type object struct{ b bytes.Buffer }

func (o *object) add(key string, value []byte) {
	if o.b.Len() > 0 {
		o.b.WriteByte(',')
	}
	o.b.Write(quoted(key))
	o.b.WriteByte(':')
	o.b.Write(value)
}

func (o *object) close() []byte { return []byte("{" + o.b.String() + "}") }

func (f *Field) json() []byte {
	switch value := f.Value(); f.Kind {
	case Yes, Whole, Decimal:
		return []byte(value)
	case List:
		var members []string
		for _, m := range splitAt(value, f.separators) {
			members = append(members, string(quoted(m)))
		}
		return []byte("[" + strings.Join(members, ",") + "]")
	default:
		return quoted(value)
	}
}

func quoted(text string) []byte {
	out, err := json.Marshal(text)
	if err != nil {
		panic(err) // every string can be written as JSON
	}
	return out
}

// Decode makes a request of the JSON that [Encode] writes, now or in an earlier
// version. What it does not know is passed over.
func Decode(data []byte, r Request) error {
	var top map[string]json.RawMessage
	if err := json.Unmarshal(data, &top); err != nil {
		return fmt.Errorf("reading a request: %w", err)
	}
	fields := r.Fields()
	objects := map[string]map[string]json.RawMessage{"": top}
	said := Values{}
	for i := range fields {
		f := &fields[i]
		raw, ok := objects[f.Group][f.key]
		if !ok {
			continue
		}
		if isGroup(fields, f.Name) && bytes.HasPrefix(raw, []byte("{")) {
			var inner map[string]json.RawMessage
			if err := json.Unmarshal(raw, &inner); err != nil {
				return &Error{f.Name, err}
			}
			objects[f.Name], raw = inner, []byte("true")
		}
		value, err := f.fromJSON(raw)
		if err != nil {
			return &Error{f.Name, err}
		}
		said[f.Name] = Source{Name: f.Name, Text: value}
	}
	return Bind(r, said)
}

// fromJSON is the text of a field that stands in JSON.
func (f *Field) fromJSON(raw json.RawMessage) (string, error) {
	switch {
	case bytes.HasPrefix(raw, []byte(`"`)):
		var s string
		err := json.Unmarshal(raw, &s)
		return s, err
	case bytes.HasPrefix(raw, []byte("[")) && f.Kind == List:
		var members []string
		err := json.Unmarshal(raw, &members)
		return strings.Join(members, f.separators[:1]), err
	}
	return string(raw), nil
}
