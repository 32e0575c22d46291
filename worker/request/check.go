package request

import (
	"encoding/json"
	"errors"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/settings"
)

// mostFixes bounds the ways to mend a finding that are looked for.
const mostFixes = 5

// Checking is what can be asked of a check, of one score or of many.
type Checking struct {
	Rules
	Words
	Given
	// Marks asks for the marked score, Upgrade for one that declares the current
	// version of MusicXML, so that it may have every mark.
	Marks   bool
	Upgrade bool
	// Analysis puts the harmonic analysis into the report; Annotate names what of it
	// stands in the marked score.
	Analysis bool
	Annotate []string
	// Fixes is how many ways to mend each fault and caution to look for.
	Fixes int
	// Rubric names one that proposes a mark, "" for none; OwnRubric is a file in its
	// place.
	Rubric    string
	OwnRubric Source
	// Voices asks for a table of every note of every voice.
	Voices bool
	// Task is the exercise as it was handed out, a score.
	Task Source
	// View is whom the report is for, one of [views].
	View string
}

func (c *Checking) fields() []Field {
	fields := append(c.Rules.fields(), c.Words.fields()...)
	fields = append(fields, c.Given.fields()...)
	return append(fields,
		yes(&c.Marks, "marks", "mark the scores").flag(""),
		yes(&c.Upgrade, "upgrade", "with --out, make older documents declare MusicXML 4.0 in the marked score, so that 1.0 gets colors too"),
		yes(&c.Analysis, "analysis", "add the harmonic analysis to the findings; with --out, also write NAME.rntxt (RomanText), NAME.analysis.json and NAME.harmonies.csv, and for all scores harmony-statistics.csv and harmony-statistics.json"),
		list(&c.Annotate, "annotate", "with --out, write the analysis into the marked score: numerals, figures, symbols, with commas between several").
			oneOf("kind of annotation", musicxml.LayerNames()),
		whole(&c.Fixes, "fixes", "how many ways to mend each fault and caution to look for").between(0, mostFixes),
		text(&c.Rubric, "rubric", "propose a mark in the findings, by the rubric of that `name` or a .yaml or .json file with one of your own").
			oneOf("rubric", rubricNames()).orFile(),
		file(&c.OwnRubric, settings.MaxBytes, "own_rubric", "").insteadOf("rubric").flag(""),
		yes(&c.Voices, "voices", "with --out, also write NAME.voices.csv"),
		text(&c.View, "view", "whom the report is for: a `teacher` is told everything; a pupil whether it is complete, the three things to mend first with the wanted notes, and what is well done").
			or(views[0]).oneOf("view", views),
		file(&c.Task, settings.MaxBytes, "task", "the exercise as it was handed out, as a MusicXML `file`: what it gives has to be there unchanged"),
	)
}

func rubricNames() []string {
	var names []string
	for _, r := range partwriting.Rubrics() {
		names = append(names, r.Name)
	}
	return names
}

// Check asks for one score to be checked.
type Check struct {
	Checking
	// Labels is an analysis in RomanText for the score.
	Labels Source
	// FixesFor is the number of the one finding to look for ways to mend for, 0 for
	// all faults and cautions.
	FixesFor int
	// IDs gives every note and measure of the document an id and names it in the
	// report; Notes puts the notes of every voice into the report.
	IDs, Notes bool
}

// Fields implements [Request].
func (c *Check) Fields() []Field {
	return append(c.fields(), labelsField(&c.Labels),
		whole(&c.FixesFor, "fixes_for", "look for ways to mend the one finding of that `number` only; with --fixes, as many as that says, else 2").between(0, partwriting.MaxFindings),
		yes(&c.IDs, "ids", "").flag(""),
		yes(&c.Notes, "notes", "").flag(""),
	)
}

// usualFixes is how many ways to mend a finding are looked for where its number is
// named and not how many.
const usualFixes = 2

// Plan says what the engine is to do; an error is an [*Error].
func (c *Check) Plan() (*CheckPlan, error) {
	p, err := c.Checking.Plan()
	if err != nil {
		return nil, err
	}
	own := &Check{Checking: c.Checking, FixesFor: c.FixesFor, IDs: c.IDs, Notes: c.Notes}
	p.asked, p.Options = asked{request: own}, describe(own)
	if p.FixesFor = c.FixesFor; p.FixesFor > 0 && p.Fixes == 0 {
		p.Fixes = usualFixes
	}
	p.IDs, p.Notes = c.IDs, c.Notes
	return p, nil
}

// labelsField is the field of labels for one score.
func labelsField(to *Source) Field {
	return file(to, settings.MaxBytes, "labels",
		"an analysis in RomanText for one score, as a `file`, or \"beside\" for NAME.rntxt or NAME.txt beside each score, in its folder or archive; used instead of the labels in the score").passing()
}

// CheckPlan is what the engine does in a check.
type CheckPlan struct {
	Law
	Catalog *partwriting.Catalog
	// Given says what labels do to the analysis.
	Given harmony.LabelUse
	// Style is how the harmony is read.
	Style          harmony.Style
	Marks, Upgrade bool
	// Annotate chooses what of the analysis stands in the marked score.
	Annotate musicxml.Layers
	Analysis bool
	// Fixes is how many ways to mend each fault and caution to look for, 0
	// for none.
	Fixes int
	// FixesFor is the number of the one finding they are looked for, 0 for all.
	FixesFor int
	// Pupil asks for what a pupil is to read: in the marks, and in what is printed, the
	// few findings to mend first, which have ways to mend them.
	Pupil bool
	// Rubric turns the findings into a grade; nil for none.
	Rubric *partwriting.Rubric
	// Voices asks for the table of the voices.
	Voices bool
	// Task is the exercise as it was handed out, nil for none.
	Task *theory.Texture
	// IDs and Notes are as in [Check].
	IDs, Notes bool
	// Revision is made before the check, and the score without marks returned; nil is
	// none.
	Revision *Revision
	// Files asks for all files of an answer, not only for those that are sent.
	Files bool
	// Options are what was asked for beyond the defaults, as a JSON object; in place of a
	// file stands "sha256:" and its hash. Nil where the plan was made of no request.
	Options json.RawMessage

	asked asked
}

// views are whom a report may be for: a teacher is told everything, a pupil what to
// mend first, with the wanted notes, and what is well done.
var views = []string{"teacher", pupilView}

const pupilView = "pupil"

var errNeedsMarks = errors.New("it changes marked scores: ask for marks as well")

// Plan says what the engine is to do; an error is an [*Error].
func (c *Checking) Plan() (*CheckPlan, error) {
	own := *c
	p := &CheckPlan{
		asked: asked{request: &Check{Checking: own}}, Options: describe(&Check{Checking: own}),
		Given: c.use(), Style: c.style(), Marks: c.Marks, Upgrade: c.Upgrade, Annotate: layers(c.Annotate),
		Analysis: c.Analysis, Fixes: c.Fixes, Voices: c.Voices, Pupil: c.View == pupilView,
	}
	if !c.Marks && p.Annotate != 0 {
		return nil, &Error{"annotate", errNeedsMarks}
	}
	if !c.Marks && c.Upgrade {
		return nil, &Error{"upgrade", errNeedsMarks}
	}
	var err error
	if p.Catalog, err = c.catalog(); err != nil {
		return nil, err
	}
	if p.Law, err = c.law(); err != nil {
		return nil, err
	}
	if p.Task, err = c.task(); err != nil {
		return nil, &Error{"task", err}
	}
	if c.OwnRubric.Text != "" {
		if p.Rubric, err = settings.ReadRubric(c.OwnRubric.Name, []byte(c.OwnRubric.Text)); err != nil {
			return nil, &Error{"own_rubric", err}
		}
	} else if rubric, ok := partwriting.RubricByName(c.Rubric); ok {
		p.Rubric = &rubric
	}
	return p, nil
}

// task reads the exercise that was handed out, nil for none.
func (c *Checking) task() (*theory.Texture, error) {
	if c.Task.Text == "" {
		return nil, nil
	}
	document, err := musicxml.Read(c.Task.Name, []byte(c.Task.Text), musicxml.Limits{})
	if err != nil {
		return nil, err
	}
	return separation.FindVoices(document.Score), nil
}

// layers are those of the names, which are choices.
func layers(names []string) (all musicxml.Layers) {
	for _, name := range names {
		layer, _ := musicxml.ParseLayers(name)
		all |= layer
	}
	return all
}
