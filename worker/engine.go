package worker

import (
	"context"
	"errors"
	"time"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker/report"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// Engine does the whole job on one score. It is safe for concurrent use.
type Engine struct {
	// Version is reported in answers.
	Version string
	// Limits bound what one document may cost.
	Limits musicxml.Limits
	// Observe, if set, is told how long each stage took.
	Observe func(context.Context, stage.Name, time.Duration)
}

// Input is one score as it came in.
type Input struct {
	// Name is a file name, for messages.
	Name string
	Data []byte
	// Labels is an analysis that came beside the score, nil for none; it counts
	// in place of the labels in the score.
	Labels *settings.Labels
}

// Options choose what to do with a score.
type Options struct {
	// RuleSet is nil for the default set.
	RuleSet *partwriting.RuleSet
	// Language is a tag such as "en"; "" is English.
	Language string
	// Marks asks for the marked score, Upgrade for one that declares the current
	// version of MusicXML, so that it may have every mark.
	Marks   bool
	Upgrade bool
	// Annotate chooses what of the analysis stands in the marked score.
	Annotate musicxml.Layers
	// Fixes is how many ways to mend it to look for with each fault and caution,
	// 0 for none: each is tried, which takes many times as long as the check.
	Fixes int
	// Rubric turns the findings into a mark; nil for none.
	Rubric *partwriting.Rubric
	// Analysis puts the harmonic analysis into the report.
	Analysis bool
	// Given says what labels in or beside the score do to the analysis.
	Given harmony.LabelUse
}

// Result is the answer to one score.
type Result struct {
	Report *report.Report
	// Marked is the marked score in the container the input had; nil unless
	// asked for.
	Marked []byte
	// Document, Texture, Harmony and Findings are what the report was made from.
	Document *musicxml.Document
	Texture  *theory.Texture
	Harmony  *harmony.Analysis
	Findings []partwriting.Finding
}

// ErrLanguage is returned for a language without a catalog.
var ErrLanguage = errors.New("no catalog for that language")

// Check reads a score, finds its voices, checks them, and marks the score if
// asked. A score that cannot be read is a [*musicxml.InputError]; ctx bounds
// the time.
func (e *Engine) Check(ctx context.Context, in Input, o Options) (*Result, error) {
	if o.Language == "" {
		o.Language = "en"
	}
	catalog, ok := partwriting.CatalogFor(o.Language)
	if !ok {
		return nil, ErrLanguage
	}
	r := &Result{}
	err := e.stages(ctx, []step{
		{stage.Read, func() (err error) {
			r.Document, err = musicxml.Read(in.Name, in.Data, e.Limits)
			return err
		}},
		{stage.Voices, func() error {
			r.Texture = separation.FindVoices(r.Document.Score)
			return nil
		}},
		{stage.Harmony, func() error {
			r.Harmony = harmony.Guided(r.Texture, givenLabels(&in, r.Texture), o.Given)
			return nil
		}},
		{stage.Check, func() error {
			r.Findings = partwriting.Check(r.Texture, r.Harmony, o.RuleSet)
			if o.Fixes > 0 {
				partwriting.NewPassage(r.Texture, r.Harmony, o.RuleSet).SuggestFixes(r.Findings, partwriting.FixOptions{PerFinding: o.Fixes})
			}
			r.Report = e.report(in, r, o, catalog)
			return nil
		}},
		{stage.Write, func() (err error) {
			if o.Marks {
				r.Marked, err = r.Document.Mark(marksFor(r, o, catalog))
			}
			return err
		}},
	})
	if err != nil {
		return nil, err
	}
	return r, nil
}

type step struct {
	stage stage.Name
	run   func() error
}

// stages runs the steps in order and stops between them when ctx is done. A panic
// becomes a [*stage.PanicError] that names the stage.
func (e *Engine) stages(ctx context.Context, steps []step) error {
	for _, s := range steps {
		if err := ctx.Err(); err != nil {
			return err
		}
		start := time.Now()
		_, span := stage.StartSpan(ctx, string(s.stage))
		err := stage.Guard(s.stage, s.run)
		span.End()
		if e.Observe != nil {
			e.Observe(ctx, s.stage, time.Since(start))
		}
		if err != nil {
			return err
		}
	}
	return nil
}
