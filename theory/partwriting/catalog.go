package partwriting

import (
	"embed"
	"encoding/json"
	"fmt"
	"sort"
	"strconv"
	"strings"
	"sync"

	"partwright/theory"
)

//go:embed catalog/*.json
var catalogFiles embed.FS

// Catalog holds the words of one language: names of voices and intervals, how a
// pitch is written, and for every rule its name, message and explanation. The
// files under catalog/ hold one language each.
type Catalog struct {
	Language string `json:"language"`
	// Voices names the voices S, A, T, B; V stands for any other, followed by
	// its number.
	Voices map[string]string `json:"voices"`
	// And joins the last two of a list.
	And string `json:"and"`
	// PitchNames is "scientific" or "german".
	PitchNames string `json:"pitch_names"`
	// Qualities are keyed by the letter of [theory.Quality], Numbers by counted
	// size; the entry 0 stands for larger ones and holds {number}.
	Qualities map[string]string `json:"qualities"`
	Numbers   map[int]string    `json:"numbers"`
	// DecimalMark is what stands between beat and fraction.
	DecimalMark string `json:"decimal_mark"`
	// SpanForm is the place of what begins in one measure and ends in another: it holds
	// {from} as well.
	SpanForm string `json:"span"`
	// PlaceForm holds {measure} and {beat}; Key and KeyNone head the key to a
	// marked score; KeyMore holds {count}, how many findings it leaves out; MendForm
	// holds {mend}.
	PlaceForm string `json:"place"`
	Key       string `json:"key"`
	KeyNone   string `json:"key_none"`
	KeyMore   string `json:"key_more"`
	MendForm  string `json:"mend"`
	// GradeNote stands beside every grade.
	GradeNote string `json:"mark_note"`
	// Table is what stands around findings in a table to read.
	Table TableWords `json:"table"`
	// Notices say what is odd in a document, by code; those that are missing are said
	// in English.
	Notices map[string]string `json:"notices"`
	// Page heads the parts of a rule set that is written out.
	Page PageWords `json:"page"`
	// CauseForm holds {number} and {rule}, those of the finding that one follows from.
	CauseForm string `json:"cause"`
	// DoubtForm holds {read} and {other}, two readings of one chord.
	DoubtForm string `json:"doubt"`
	// ReadingForm holds {chord} and {key}.
	ReadingForm string `json:"reading"`
	// Severities, Families and Words translate closed sets of terms.
	Severities map[string]string    `json:"severities"`
	Families   map[string]string    `json:"families"`
	Words      map[Word]string      `json:"words"`
	Licences   map[Licence]string   `json:"licences"`
	Praises    map[Praise]string    `json:"praise"`
	Rules      map[RuleID]RuleWords `json:"rules"`
	// Terms explain the words of the trade that the rules' explanations use; TermsHead
	// stands over them.
	Terms     []Term `json:"terms"`
	TermsHead string `json:"terms_head"`
	// Phrases are the sentences about voicing and mending.
	Phrases map[Phrase]string `json:"phrases"`
	// Clauses put into words what the analysis says in English about how it read a score:
	// each holds the English and the translation, with {n} for a number and {x} for a name,
	// and they apply one after the other. English has none.
	Clauses []clause `json:"clauses"`
}

// RuleWords are the words of one rule in one language.
type RuleWords struct {
	// Name is what a teacher calls it.
	Name string `json:"name"`
	// Definition is the exact test in a sentence.
	Definition string `json:"definition"`
	// Message says what a finding is and where; it has placeholders in braces:
	// {voices} and {voice} name the voices of the finding, the others its
	// arguments.
	Message string `json:"message"`
	// Why says why it matters, Mend how to mend it, to a student.
	Why  string `json:"why"`
	Mend string `json:"mend"`
}

// PageWords head the parts of a rule set that is written out; Note says that the
// teacher decides.
type PageWords struct {
	Set      string `json:"set"`
	Source   string `json:"source"`
	Settings string `json:"settings"`
	Ranges   string `json:"ranges"`
	Note     string `json:"note"`
}

// TableWords are what stands around findings in a table to read.
type TableWords struct {
	Measure  string `json:"measure"` // short, above a column
	Beat     string `json:"beat"`
	Voices   string `json:"voices"`
	Severity string `json:"severity"`
	Rule     string `json:"rule"`
	Family   string `json:"family"`
	Source   string `json:"source"`
	RuleSet  string `json:"rule_set"`
	What     string `json:"what"`
	Nothing  string `json:"nothing"`
	Notice   string `json:"notice"` // before what is odd in a document
	// OneMeasure and Measures count; the second holds {count}.
	OneMeasure string `json:"one_measure"`
	Measures   string `json:"measures"`
	// Style holds {style}; in front of a notice stand InPart with {part}, InMeasure with
	// {measure} and OnLine with {line}.
	Style     string `json:"style"`
	InPart    string `json:"in_part"`
	InMeasure string `json:"in_measure"`
	OnLine    string `json:"on_line"`
	// Mark holds {earned} and {available}, FromPhrase {measure} and {lost}.
	Mark       string `json:"mark"`
	FromPhrase string `json:"from_phrase"`
	// MendFirst, WellDone and More stand before what a pupil is told; the last holds
	// {count}.
	MendFirst string `json:"mend_first"`
	WellDone  string `json:"well_done"`
	More      string `json:"more"`
	// Terms translate layouts and styles.
	Terms map[string]string `json:"terms"`
}

// Term translates the name of a layout or a style.
func (w *TableWords) Term(term string) string {
	if word, ok := w.Terms[term]; ok {
		return word
	}
	return term
}

// Notice says what is odd in a document: by its code where the language has words for
// it, else as it is said in English.
func (c *Catalog) Notice(code, english string) string {
	if said, ok := c.Notices[code]; ok {
		return said
	}
	return english
}

var catalogs = sync.OnceValue(readCatalogs)

// readCatalogs panics where a file of our own is broken; a test reads them all.
func readCatalogs() map[string]*Catalog {
	all := map[string]*Catalog{}
	files, err := catalogFiles.ReadDir("catalog")
	if err != nil {
		panic(err)
	}
	for _, file := range files {
		text, err := catalogFiles.ReadFile("catalog/" + file.Name())
		if err != nil {
			panic(err)
		}
		c := &Catalog{}
		if err := json.Unmarshal(text, c); err != nil {
			panic(fmt.Sprintf("partwriting: catalog/%s: %v", file.Name(), err))
		}
		all[c.Language] = c
	}
	return all
}

// Languages returns the tags of all catalogs, sorted.
func Languages() []string {
	var tags []string
	for tag := range catalogs() {
		tags = append(tags, tag)
	}
	sort.Strings(tags)
	return tags
}

// CatalogFor returns the catalog of a language tag such as "en" or "de-AT", and
// false where there is none.
func CatalogFor(language string) (*Catalog, bool) {
	primary, _, _ := strings.Cut(strings.ToLower(language), "-")
	c, ok := catalogs()[primary]
	return c, ok
}

// RuleName returns what a teacher calls the rule.
func (c *Catalog) RuleName(rule RuleID) string { return c.Rules[rule].Name }

// Why returns why a rule matters and how to mend it, for the student.
func (c *Catalog) Why(rule RuleID) string {
	words := c.Rules[rule]
	if words.Mend == "" {
		return words.Why
	}
	return words.Why + " " + strings.ReplaceAll(c.MendForm, "{mend}", words.Mend)
}

// Mend returns how to mend what a rule finds, for the student.
func (c *Catalog) Mend(rule RuleID) string { return c.Rules[rule].Mend }

// Change says what an edit changes, such as "tenor: B3, was G3".
func (c *Catalog) Change(t *theory.Texture, e Edit) string {
	voice := &t.Voices[e.Note.Voice]
	was := voice.Notes[e.Note.Note].Pitch
	return strings.NewReplacer("{voice}", c.voiceIn(t, e.Note.Voice), "{to}", c.Pitch(e.To), "{from}", c.Pitch(was)).Replace(c.Phrases[ChangedNote])
}

// Message returns the sentence that says what a finding is and where.
func (c *Catalog) Message(f *Finding, t *theory.Texture) string {
	message := fill(c.Rules[f.Rule].Message, func(name string) (string, bool) { return c.argument(f, t, name) })
	if f.Cause != "" {
		message += "; " + strings.NewReplacer("{number}", strconv.Itoa(f.Follows), "{rule}", c.RuleName(f.Cause)).Replace(c.CauseForm)
	}
	if f.Doubt != nil {
		message += "; " + strings.NewReplacer("{read}", c.reading(f.Doubt.Read), "{other}", c.reading(f.Doubt.Other)).Replace(c.DoubtForm)
	}
	if f.Licence != "" {
		message += "; " + c.Licences[f.Licence]
	}
	return message
}

func (c *Catalog) argument(f *Finding, t *theory.Texture, name string) (string, bool) {
	for i := range f.Args {
		if f.Args[i].Name == name {
			if name, ok := f.Args[i].Value.(VoiceName); ok {
				return c.voiceNamed(t, string(name)), true
			}
			return c.render(f.Args[i].Value), true
		}
	}
	switch name {
	case "voice":
		if len(f.Voices) > 0 {
			return c.voiceIn(t, f.Voices[0]), true
		}
	case "voices":
		names := make([]string, 0, len(f.Voices))
		for _, v := range f.Voices {
			names = append(names, c.voiceIn(t, v))
		}
		return c.list(names), true
	}
	return "", false
}

// Place returns where a finding is, such as "measure 3, beat 2", or "measures 2–3,
// beat 1" where its first note is struck in an earlier measure. The beat counts from
// the start of the last, as in the report.
func (c *Catalog) Place(f *Finding, t *theory.Texture) string {
	measure := &t.Score.Measures[f.Measure]
	label := measureLabel(measure)
	form, from := c.PlaceForm, label
	if i := firstMeasure(f, t); i < f.Measure {
		form, from = c.SpanForm, measureLabel(&t.Score.Measures[i])
	}
	beat := strconv.FormatFloat(measure.Time.BeatAt(f.Onset.Sub(measure.Onset)).Float(), 'f', 3, 64)
	beat = strings.TrimRight(strings.TrimRight(beat, "0"), ".")
	return strings.NewReplacer("{from}", from, "{measure}", label, "{beat}", strings.Replace(beat, ".", c.DecimalMark, 1)).Replace(form)
}

func measureLabel(m *theory.Measure) string {
	if m.Label == "" {
		return "[" + strconv.Itoa(m.Index+1) + "]"
	}
	return m.Label
}

// firstMeasure returns the index of the measure in which the first note of a finding
// is struck.
func firstMeasure(f *Finding, t *theory.Texture) int {
	first := f.Measure
	for _, r := range f.Notes {
		onset := t.Voices[r.Voice].Notes[r.Note].Onset
		for first > 0 && onset.Less(t.Score.Measures[first].Onset) {
			first--
		}
	}
	return first
}

// KeyHeading returns the line above the key to n numbers in a marked score.
func (c *Catalog) KeyHeading(n int) string {
	if n == 0 {
		return c.KeyNone
	}
	return c.Key
}

// fill replaces the placeholders of a form. One without a value stays, braces
// and all, so that it is seen.
func fill(form string, value func(name string) (string, bool)) string {
	var out strings.Builder
	for {
		before, rest, found := strings.Cut(form, "{")
		out.WriteString(before)
		if !found {
			return out.String()
		}
		name, after, _ := strings.Cut(rest, "}")
		if text, ok := value(name); ok {
			out.WriteString(text)
		} else {
			out.WriteString("{" + name + "}")
		}
		form = after
	}
}
