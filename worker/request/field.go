package request

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Kind is what the text of a field can hold.
type Kind int8

// Kinds of fields.
const (
	// Text is any text, Yes "true" or "false", Whole an integer, Decimal a number.
	Text Kind = iota
	Yes
	Whole
	Decimal
	// List is several texts with commas between them.
	List
	// File is the content of a file.
	File
)

// Source is the text of a file and the name it came under, which errors speak of.
type Source struct{ Name, Text string }

// longest is how many bytes a field has unless it says otherwise.
const longest = 1 << 10

// Field is one thing that can be asked for. It reads and writes the request that it
// belongs to.
type Field struct {
	// Name is its name in queries, forms and JSON, Flag that on the command line;
	// "" is for none.
	Name, Flag string
	Kind       Kind
	// Help says on the command line what it does; a word in backquotes names the
	// value.
	Help string
	// Default is its text where nothing is said.
	Default string
	// Choices are all that it may be; nil is anything. Noun says what they are. Where
	// it is Open they are suggestions.
	Choices []string
	Noun    string
	Open    bool
	// Least and Most bound a number, if Most is larger.
	Least, Most float64
	// Longest bounds its text in bytes.
	Longest int
	// InsteadOf names the field whose place it takes: a file of one's own in place
	// of a name.
	InsteadOf string
	// OrFile tells a name that a file of one's own can stand for.
	OrFile bool
	// Group names the field that has to be true for it to mean anything; "" for none.
	Group string
	// Passing fields say how the scores of one call come in; they are not kept with
	// a batch.
	Passing bool

	// separators part a list.
	separators string
	// key is its name in the JSON of its group.
	key string
	get func() string
	// source is the value of a file with its name; nil for what is no file.
	source func() Source
	set    func(Source) error
}

func field(kind Kind, name, help string, get func() string, set func(Source) error) Field {
	return Field{
		Name: name, key: name, Flag: strings.ReplaceAll(name, "_", "-"), Kind: kind, Help: help,
		Longest: longest, get: get, set: set,
	}
}

func text(to *string, name, help string) Field {
	return field(Text, name, help, func() string { return *to }, func(s Source) error {
		*to = s.Text
		return nil
	})
}

func yes(to *bool, name, help string) Field {
	f := field(Yes, name, help, func() string { return strconv.FormatBool(*to) }, func(s Source) error {
		if s.Text != "true" && s.Text != "false" {
			return fmt.Errorf(`%.64q is neither "true" nor "false"`, s.Text)
		}
		*to = s.Text == "true"
		return nil
	})
	f.Default = "false"
	return f
}

func whole(to *int, name, help string) Field {
	f := field(Whole, name, help, func() string { return strconv.Itoa(*to) }, func(s Source) (err error) {
		*to, err = strconv.Atoi(s.Text)
		return notANumber(s.Text, "whole number", err)
	})
	f.Default = "0"
	return f
}

// natural is a whole number from 0 on.
func natural(to *uint64, name, help string) Field {
	f := field(Whole, name, help, func() string { return strconv.FormatUint(*to, 10) }, func(s Source) (err error) {
		*to, err = strconv.ParseUint(s.Text, 10, 64)
		return notANumber(s.Text, "whole number from 0 on", err)
	})
	f.Default = "0"
	return f
}

func decimal(to *float64, name, help string) Field {
	f := field(Decimal, name, help,
		func() string { return strconv.FormatFloat(*to, 'g', -1, 64) },
		func(s Source) (err error) {
			*to, err = strconv.ParseFloat(s.Text, 64)
			return notANumber(s.Text, "number", err)
		})
	f.Default = "0"
	return f
}

func notANumber(text, kind string, err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%.64q is no %s", text, kind)
}

// list is a list with commas between its members; an empty text is an empty list.
func list(to *[]string, name, help string) Field { return parted(to, ",", name, help) }

func parted(to *[]string, separators, name, help string) Field {
	f := field(List, name, help, func() string { return strings.Join(*to, separators[:1]) }, func(s Source) error {
		*to = nil
		for _, member := range splitAt(s.Text, separators) {
			if member = strings.TrimSpace(member); member == "" {
				return fmt.Errorf("%.64q has an empty place in its list", s.Text)
			}
			*to = append(*to, member)
		}
		return nil
	})
	f.separators = separators
	return f
}

// splitAt splits at one of the separators, of which several in a row count as one
// where they are more than one kind.
func splitAt(text, separators string) []string {
	switch {
	case text == "":
		return nil
	case len(separators) == 1:
		return strings.Split(text, separators)
	}
	return strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(separators, r) })
}

// file is a file of the user's own of at most so many bytes.
func file(to *Source, longest int, name, help string) Field {
	f := field(File, name, help, func() string { return to.Text }, func(s Source) error {
		*to = s
		return nil
	})
	f.Longest = longest
	f.source = func() Source { return *to }
	return f
}

func (f Field) flag(name string) Field {
	f.Flag = name
	return f
}

func (f Field) or(text string) Field {
	f.Default = text
	return f
}

func (f Field) oneOf(noun string, choices []string) Field {
	f.Noun, f.Choices = noun, choices
	return f
}

// suggesting names values that are likely; others are possible.
func (f Field) suggesting(choices []string) Field {
	f.Choices, f.Open = choices, true
	return f
}

func (f Field) between(least, most float64) Field {
	f.Least, f.Most = least, most
	return f
}

func (f Field) upTo(bytes int) Field {
	f.Longest = bytes
	return f
}

func (f Field) orFile() Field {
	f.OrFile = true
	return f
}

func (f Field) insteadOf(name string) Field {
	f.InsteadOf = name
	return f
}

func (f Field) passing() Field {
	f.Passing = true
	return f
}

// within are the fields of a group: they mean something where the field on is true.
// Names and flags get a prefix each.
func within(on, name, flag string, fields []Field) []Field {
	for i := range fields {
		f := &fields[i]
		f.Group = on
		f.Name = name + f.Name
		if f.InsteadOf != "" {
			f.InsteadOf = name + f.InsteadOf
		}
		if f.Flag != "" {
			f.Flag = flag + f.Flag
		}
	}
	return fields
}

// Value returns the text of the field as it stands in its request.
func (f *Field) Value() string { return f.get() }

// check tells what is wrong with the text of a field.
func (f *Field) check(s Source) error {
	if len(s.Text) > f.Longest {
		return fmt.Errorf("it has %d bytes; at most %d are read", len(s.Text), f.Longest)
	}
	if s.Text == f.Default || f.Open || len(f.Choices) == 0 {
		return nil
	}
	members := []string{s.Text}
	if f.Kind == List {
		members = splitAt(s.Text, f.separators)
	}
	for _, m := range members {
		if m = strings.TrimSpace(m); !slices.Contains(f.Choices, m) {
			return &ChoiceError{Noun: f.Noun, Value: m, Choices: f.Choices}
		}
	}
	return nil
}

// bounded tells whether a number lies within its bounds. What is the default needs
// not: it may stand for none.
func (f *Field) bounded(s Source) error {
	if f.Most <= f.Least || s.Text == f.Default {
		return nil
	}
	n, err := strconv.ParseFloat(s.Text, 64)
	if err != nil || !(n >= f.Least && n <= f.Most) {
		return fmt.Errorf("%.64s is not from %s to %s", s.Text, number(f.Least), number(f.Most))
	}
	return nil
}

func number(n float64) string { return strconv.FormatFloat(n, 'f', -1, 64) }

// Error says what is wrong with one field of a request.
type Error struct {
	// Field is its name, such as rule_set.
	Field string
	Err   error
}

// Error says which field and why.
func (e *Error) Error() string { return e.Field + ": " + e.Err.Error() }

// Unwrap returns the reason.
func (e *Error) Unwrap() error { return e.Err }

// ChoiceError tells a value that a field cannot have.
type ChoiceError struct {
	Noun, Value string
	Choices     []string
}

// Error names the value and what can be chosen.
func (e *ChoiceError) Error() string {
	return fmt.Sprintf("there is no %s %.64q; choose one of %s", e.Noun, e.Value, strings.Join(e.Choices, ", "))
}
