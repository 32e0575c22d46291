package worker

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"
	"sync"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/musicxml/charset"
	"partwright/musicxml/chordlabel"
	"partwright/musicxml/container"
	"partwright/musicxml/markup"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/texture"
	"partwright/worker/answer"
	"partwright/worker/fingerprint"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/settings"
)

// prints are the fingerprints of the parts of this program that reports of checks stand
// on.
type prints struct {
	reading, harmony, report string
	rules, words             map[string]string
}

// written are those of this program. It takes some forty milliseconds, once; that one of our
// own packages cannot be read is a mistake of ours.
var written = sync.OnceValue(func() *prints {
	p, err := takePrints(partwriting.Code)
	if err != nil {
		panic(err)
	}
	return p
})

// takePrints takes those of this program with another package of rules.
func takePrints(checker fs.FS) (p *prints, err error) {
	p = &prints{words: map[string]string{}}
	if p.reading, err = fingerprint.Of(theory.Code, texture.Code, separation.Code,
		musicxml.Code, markup.Code, charset.Code, container.Code, archive.Code, chordlabel.Code); err != nil {
		return nil, err
	}
	if p.harmony, err = fingerprint.Of(harmony.Code, beatnet.Code); err != nil {
		return nil, err
	}
	engine, err := fingerprint.Of(Code, report.Code, settings.Code, request.Code, answer.Code)
	if err != nil {
		return nil, err
	}
	rules, err := fingerprint.Read(checker, "Rule")
	if err != nil {
		return nil, err
	}
	p.rules, p.report = rules.Entries(), fingerprint.Join(engine, rules.Rest())
	for _, language := range partwriting.Languages() {
		text, err := fs.ReadFile(checker, "catalog/"+language+".json")
		if err != nil {
			return nil, err
		}
		p.words[language] = fingerprint.Join(string(text))
	}
	return p, nil
}

// of are the parts that a report stands on which holds a score to a rule set in the words
// of a language.
func (p *prints) of(set *partwriting.RuleSet, language string) report.Parts {
	var rules []string
	for _, r := range partwriting.Rules() {
		if severity := set.SeverityOf(r); severity != partwriting.Off {
			rules = append(rules, string(r.ID), severity.String(), p.rules[string(r.ID)])
		}
	}
	return report.Parts{
		Reading: p.reading, Harmony: p.harmony, Rules: fingerprint.Join(rules...), Words: p.words[language], Report: p.report,
	}
}

// provenanceReport says what the answer was made by.
func provenanceReport(c *checked) *report.Provenance {
	p := &report.Provenance{
		Options: c.plan.Options, Labels: labelsHash(c.input),
		Parts: written().of(c.passage.Set, c.plan.Catalog.Language),
	}
	if p.Options == nil {
		p.Options = json.RawMessage("{}")
	}
	return p
}

// labelsHash is that of the analysis that came beside a score, "" for none.
func labelsHash(in *Input) string {
	if in.Labels == nil {
		return ""
	}
	return fmt.Sprintf("%x", sha256.Sum256(in.Labels.Source))
}

// Differs says why an earlier report cannot stand for the answer to a score: "score",
// "options", "labels", or those parts of the engine that are written otherwise, such as
// "rules"; "" says that it can. It does not look at limits of time and size, which an
// answer depends on where they are reached.
func Differs(earlier *report.Report, in *Input, plan *request.CheckPlan) string {
	made := earlier.Provenance
	sum := sha256.Sum256(in.Data)
	switch {
	case made == nil || earlier.Identity == nil || earlier.Texture == nil:
		return "version" // one that did not say
	case earlier.Identity.SHA256 != hex.EncodeToString(sum[:]):
		return "score"
	case !sameJSON(made.Options, plan.Options):
		return "options"
	case made.Labels != labelsHash(in):
		return "labels"
	}
	kind, err := texture.ParseKind(earlier.Texture.Kind)
	if err != nil {
		return "reading"
	}
	now := written().of(plan.ForKind(kind), plan.Catalog.Language)
	return strings.Join(now.Differing(&made.Parts), ", ")
}

// sameJSON tells whether two texts are the same but for the blanks between what they hold.
func sameJSON(a, b json.RawMessage) bool {
	var one, other bytes.Buffer
	return json.Compact(&one, a) == nil && json.Compact(&other, b) == nil && bytes.Equal(one.Bytes(), other.Bytes())
}

// Part is a part of the engine with its fingerprint.
type Part struct{ Name, Fingerprint string }

// Parts lists the parts that reports stand on, every rule by itself.
func Parts() []Part {
	p := written()
	all := []Part{{"reading", p.reading}, {"harmony", p.harmony}, {"report", p.report}}
	for _, language := range partwriting.Languages() {
		all = append(all, Part{"words " + language, p.words[language]})
	}
	for _, r := range partwriting.Rules() {
		all = append(all, Part{"rule " + string(r.ID), p.rules[string(r.ID)]})
	}
	return all
}
