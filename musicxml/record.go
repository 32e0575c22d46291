package musicxml

import (
	"bytes"
	"net/url"
	"strconv"
	"strings"

	"partwright/musicxml/markup"
)

// recordName is the name of the <miscellaneous-field> in which a marked score
// says that it is marked, and what marking could not undo without help.
const recordName = "partwright-marks"

// record is the content of that field: words with a space between them.
type record struct {
	// plain: the marks have no colors, the document's version has none.
	plain bool
	// made and opened name elements that marking added, or whose empty-element
	// tag it opened: identification, miscellaneous, measure. An upgrade can make
	// the version attribute.
	made, opened map[string]bool
	// version and doctype are what an upgraded document declared before.
	version, doctype string
	// colors are the raw values that notes had before, in document order.
	colors []oldColor
	// keep are notes, texts directions, that look like marks and are the
	// author's own.
	keep, texts []place
	// heads are notes whose heads marking has colored.
	heads []place
	// annotations counts the annotations; labels are those of the author's that
	// stand beside some, or look like some.
	annotations int
	labels      []place
	// worded: figures are texts, and texts names the author's own that look like some.
	worded bool
	// sung is the part whose lyrics are numerals of ours, and as its index how many there
	// are, 0 for none.
	sung place
	// ids begins the ids that notes and measures were given, "" for none.
	ids string
}

type oldColor struct {
	at    place
	value string
}

const recordVersion = "1"

// String returns the content: "1 made:miscellaneous color:1.3.2=%23FF0000".
func (r *record) String() string {
	words := []string{recordVersion}
	if r.plain {
		words = append(words, "plain")
	}
	for _, name := range []string{"identification", "miscellaneous", "measure", "version"} {
		if r.made[name] {
			words = append(words, "made:"+name)
		}
		if r.opened[name] {
			words = append(words, "opened:"+name)
		}
	}
	if r.version != "" {
		words = append(words, "version:"+url.QueryEscape(r.version))
	}
	if r.doctype != "" {
		words = append(words, "doctype:"+r.doctype)
	}
	for _, c := range r.colors {
		words = append(words, "color:"+c.at.String()+"="+url.QueryEscape(c.value))
	}
	for _, p := range r.keep {
		words = append(words, "keep:"+p.String())
	}
	for _, p := range r.texts {
		words = append(words, "text:"+p.String())
	}
	for _, p := range r.heads {
		words = append(words, "head:"+p.String())
	}
	if r.annotations > 0 {
		words = append(words, "annotations:"+strconv.Itoa(r.annotations))
	}
	if r.worded {
		words = append(words, "worded")
	}
	for _, p := range r.labels {
		words = append(words, "label:"+p.String())
	}
	if r.sung.index > 0 {
		words = append(words, "sung:"+r.sung.String())
	}
	if r.ids != "" {
		words = append(words, "ids:"+r.ids)
	}
	return strings.Join(words, " ")
}

// parseRecord reads what String wrote. Words that it does not know, or that
// someone has spoilt, are skipped.
func parseRecord(content string) *record {
	r := &record{made: map[string]bool{}, opened: map[string]bool{}}
	fields := r.fields()
	for word := range strings.FieldsSeq(content) {
		kind, value, _ := strings.Cut(word, ":")
		if read := fields[kind]; read != nil {
			read(value)
		}
	}
	return r
}

// fields returns, for every kind of word, what reads its value.
func (r *record) fields() map[string]func(value string) {
	places := func(list *[]place) func(string) {
		return func(value string) {
			if p, ok := parsePlace(value); ok {
				*list = append(*list, p)
			}
		}
	}
	declared := func(field *string) func(string) {
		return func(escaped string) {
			value, err := url.QueryUnescape(escaped)
			if err == nil && isOlder([]byte(value)) && fitsAttribute(value, '"') && fitsAttribute(value, '\'') {
				*field = value
			}
		}
	}
	return map[string]func(string){
		"plain":   func(string) { r.plain = true },
		"made":    func(name string) { r.made[name] = true },
		"opened":  func(name string) { r.opened[name] = true },
		"version": declared(&r.version),
		"doctype": declared(&r.doctype),
		"keep":    places(&r.keep),
		"text":    places(&r.texts),
		"head":    places(&r.heads),
		"label":   places(&r.labels),
		"sung": func(value string) {
			if p, ok := parsePlace(value); ok {
				r.sung = p
			}
		},
		"worded":      func(string) { r.worded = true },
		"annotations": func(count string) { r.annotations = smallCount(count) },
		"color":       r.readColor,
		"ids": func(prefix string) {
			if isIDPrefix.MatchString(prefix) {
				r.ids = prefix
			}
		},
	}
}

// readColor reads "1.3.2=%23FF0000".
func (r *record) readColor(text string) {
	where, escaped, _ := strings.Cut(text, "=")
	p, ok := parsePlace(where)
	value, err := url.QueryUnescape(escaped)
	if ok && err == nil {
		r.colors = append(r.colors, oldColor{p, value})
	}
}

// recordField returns the field's element, or markup.None.
func recordField(t *markup.Tree) markup.ID {
	identification := t.Child(t.Root(), markup.NameIdentification)
	if identification == markup.None {
		return markup.None
	}
	for m := range named(t, identification, markup.NameMiscellaneous) {
		for f := range named(t, m, markup.NameMiscellaneousField) {
			if name, ok := t.Attr(f, markup.NameName); ok && string(bytes.TrimSpace(name)) == recordName {
				return f
			}
		}
	}
	return markup.None
}

// smallCount reads what a record counts, 0 for anything else.
func smallCount(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 {
		return 0
	}
	return n
}
