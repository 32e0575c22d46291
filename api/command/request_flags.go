package command

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/pflag"

	"partwright/worker/request"
	"partwright/worker/settings"
)

// requestFlags are the flags of a request, one for each field that has one.
type requestFlags struct {
	request request.Request
	fields  []request.Field
	flags   *pflag.FlagSet
}

// addRequest adds the flags of a request. What the scores come with is not among them:
// it is given with the paths.
func addRequest(flags *pflag.FlagSet, r request.Request) *requestFlags {
	f := &requestFlags{request: r, flags: flags}
	for _, field := range request.Defaults(r).Fields() {
		if field.Flag == "" || field.Passing {
			continue
		}
		f.fields = append(f.fields, field)
		added := flags.VarPF(&fieldValue{field: field, text: field.Default}, field.Flag, "", field.Help)
		if field.Kind == request.Yes {
			added.NoOptDefVal = "true"
		}
	}
	return f
}

// fieldValue is the value of a flag of a request.
type fieldValue struct {
	field request.Field
	text  string
	set   bool
}

// String implements [pflag.Value].
func (v *fieldValue) String() string { return v.text }

// Set implements [pflag.Value]. A list may be given in parts.
func (v *fieldValue) Set(text string) error {
	if v.set && v.field.Kind == request.List {
		text = v.text + "," + text
	}
	if v.field.Kind == request.Yes && (text == "1" || text == "0") {
		text = fmt.Sprint(text == "1") // as people write them into the environment
	}
	v.text, v.set = text, true
	return nil
}

// Type implements [pflag.Value]: the word that help shows for the value.
func (v *fieldValue) Type() string {
	switch v.field.Kind {
	case request.Yes:
		return "bool"
	case request.Whole:
		return "int"
	case request.Decimal:
		return "float64"
	case request.List:
		return "strings"
	default:
		return "string"
	}
}

// bind makes the request of what flags set, and of what the command sets
// itself.
func (f *requestFlags) bind(given request.Values) error {
	if given == nil {
		given = request.Values{}
	}
	for i := range f.fields {
		field := &f.fields[i]
		flag := f.flags.Lookup(field.Flag)
		if !flag.Changed {
			continue
		}
		name, source, err := f.source(field, flag.Value.String())
		if err != nil {
			return err
		}
		given[name] = source
	}
	return f.inFlags(request.Bind(f.request, given))
}

// source is what the text of a flag says, and of which field: a file of one's own takes
// the place of a name.
func (f *requestFlags) source(field *request.Field, text string) (name string, s request.Source, err error) {
	if field.Kind == request.File {
		s, err = readSource(text)
		return field.Name, s, err
	}
	if field.OrFile && isSettingsFile(text) {
		s, err = readSource(text)
		return f.own(field.Name), s, err
	}
	return field.Name, request.Source{Text: text}, nil
}

// own is the field of a file that takes the place of a name.
func (f *requestFlags) own(name string) string {
	for _, field := range f.request.Fields() {
		if field.InsteadOf == name {
			return field.Name
		}
	}
	return ""
}

// inFlags says an error of a field in the words of its flag.
func (f *requestFlags) inFlags(err error) error {
	var wrong *request.Error
	if !errors.As(err, &wrong) {
		return err
	}
	if errors.As(err, new(*settings.Error)) {
		return wrong.Err // it names the file and the line
	}
	flag, group, orFile := "", "", false
	for _, field := range f.request.Fields() {
		if field.Name == wrong.Field {
			flag, group, orFile = field.Flag, field.Group, field.OrFile
		}
	}
	var choice *request.ChoiceError
	switch {
	case errors.As(err, &choice):
		return fmt.Errorf("--%s: %w", flag, unknownChoice(choice, orFile))
	case group != "" && f.flags.Lookup(group) != nil && !f.flags.Changed(group):
		return fmt.Errorf("--%s means something only with --%s: say that as well", flag, group)
	}
	return fmt.Errorf("--%s: %w", flag, wrong.Err)
}

// unknownChoice says what can stand in place of a name that there is not.
func unknownChoice(c *request.ChoiceError, orFile bool) error {
	advice := "say one of " + strings.Join(c.Choices, ", ")
	if orFile {
		advice = oneOrFile(c.Choices)
	}
	return unknownName(c.Noun, c.Value, c.Choices, advice)
}

// readSource reads a file of the user's own. It may hold one byte more than is allowed,
// so that whoever reads it can see that there was more.
func readSource(name string) (request.Source, error) {
	file, err := os.Open(name) // #nosec G304 -- a file that the user names
	if err != nil {
		return request.Source{}, err
	}
	defer func() { _ = file.Close() }()
	data, err := io.ReadAll(io.LimitReader(file, settings.MaxBytes+1))
	return request.Source{Name: name, Text: string(data)}, err
}
