package command

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/theory/partwriting"
	"partwright/worker/account"
	"partwright/worker/request"
)

// offer is what a shell completes a flag or an argument with.
type offer struct {
	words []string
	// list lets several words stand with commas between them.
	list bool
	// orFile lets a file stand in place of a word.
	orFile bool
	// extensions are those of files, where only a file will do; folder asks for a folder.
	extensions []string
	folder     bool
}

// offerOf is what the flag of a field is completed with.
func offerOf(f *request.Field) offer {
	if f.Kind == request.File {
		return offer{extensions: []string{"yaml", "yml", "json"}}
	}
	return offer{words: f.Choices, list: f.Kind == request.List, orFile: f.OrFile}
}

// flagOffers are those of flags that are no fields of a request, by the name of the flag, or of a command and its flag.
func flagOffers() map[string]offer {
	ruleSets := offer{words: ruleSetNames(), orFile: true}
	offers := map[string]offer{
		"set":             ruleSets,
		"rules lang":      {words: partwriting.Languages()},
		"fail-on":         {words: request.Severities()},
		"labels":          {words: []string{request.Beside}, orFile: true},
		"check format":    {words: []string{"table", "json", "ndjson", "csv"}},
		"find format":     {words: []string{"table", "ndjson", "csv"}},
		"find kind":       {words: foundKinds},
		"mend format":     {words: []string{"table", "json", "ndjson"}},
		"continue format": {words: []string{"table", "json"}},
		"voice format":    {words: []string{"table", "json", "ndjson", "musicxml"}},
		"serve only":      {words: []string{OnlyHTTP, OnlyWorkers}},
		"log-format":      {words: []string{"json", "text"}},
		"log-level":       {words: []string{"debug", "info", "warn", "error"}},
		"scopes":          {words: account.ScopeNames(account.Scopes), list: true},
		"out":             {folder: true},
		"data-dir":        {folder: true},
		"spool-dir":       {folder: true},
	}
	for column, values := range foundValues() {
		offers["find "+flagOf(column)] = offer{words: values}
	}
	return offers
}

// argumentOffers are by the name of the command; any other has no files as arguments.
func argumentOffers() map[string]offer {
	scores := []string{"musicxml", "xml", "mxl"}
	several := offer{extensions: append([]string{"zip", "gz", "tgz"}, scores...)}
	return map[string]offer{
		"check": several, "batch": several, "mend": {extensions: scores},
		"voice": {extensions: append([]string{"rntxt", "txt"}, scores...)},
		"rules": {words: ruleNames()},
		"man":   {folder: true}, "addresses": {folder: true}, "find": {folder: true},
	}
}

// completeAll registers what shells offer after each command and flag.
func completeAll(cmd *cobra.Command) {
	flags, arguments := flagOffers(), argumentOffers()
	var each func(*cobra.Command)
	each = func(cmd *cobra.Command) {
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			o, ok := flags[cmd.Name()+" "+f.Name]
			if !ok {
				o, ok = flags[f.Name]
			}
			if v, field := f.Value.(*fieldValue); field {
				o, ok = offerOf(&v.field), true
			}
			if ok {
				_ = cmd.RegisterFlagCompletionFunc(f.Name, o.complete) // the flag exists
			}
		})
		if !cmd.HasSubCommands() {
			cmd.ValidArgsFunction = arguments[cmd.Name()].complete
		}
		for _, sub := range cmd.Commands() {
			each(sub)
		}
	}
	each(cmd)
}

func (o offer) complete(_ *cobra.Command, _ []string, begun string) ([]string, cobra.ShellCompDirective) {
	switch {
	case o.folder:
		return nil, cobra.ShellCompDirectiveFilterDirs
	case o.extensions != nil:
		return o.extensions, cobra.ShellCompDirectiveFilterFileExt
	}
	before, do := "", cobra.ShellCompDirectiveNoFileComp
	if o.list {
		before = begun[:strings.LastIndex(begun, ",")+1]
		do |= cobra.ShellCompDirectiveNoSpace
	}
	if o.orFile {
		do = cobra.ShellCompDirectiveDefault
	}
	var words []string
	for _, word := range o.words {
		if strings.HasPrefix(before+word, begun) && !slices.Contains(strings.Split(before, ","), word) {
			words = append(words, before+word)
		}
	}
	return words, do
}
