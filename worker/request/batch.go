package request

import "errors"

// Beside is the word for labels that lie beside each score.
const Beside = "beside"

// Batch asks for many scores to be checked alike, and mended or voiced as well.
type Batch struct {
	Checking
	// Labels is "" or [Beside].
	Labels string
	// Mend asks for what Mending has, Voice for what Voicing has.
	Mend    bool
	Mending Mending
	Voice   bool
	Voicing Voicing
}

// Fields implements [Request].
func (b *Batch) Fields() []Field {
	fields := append(b.fields(),
		text(&b.Labels, "labels", "\"beside\" for an analysis in RomanText beside each score, NAME.rntxt or NAME.txt in its folder or archive").
			oneOf("place of labels", []string{Beside}).passing(),
		yes(&b.Mend, "mend", "also mend each score and write NAME.mended.musicxml (.mxl) and NAME.mending.json, as partwright mend does; voices, measures and findings that a score lacks are skipped"))
	fields = append(fields, within("mend", "", "mend-", b.Mending.fields())...)
	fields = append(fields,
		yes(&b.Voice, "voice", "also voice each score that sets a task (block chords, a bass, a melody) and write NAME.voicing.json, NAME.voiced.musicxml and NAME.mid, as partwright voice does"))
	return append(fields, within("voice", "voice_", "voice-", b.Voicing.fields())...)
}

// BatchPlan is what the engine does with each score of a batch. Mend and Voice are
// nil where they were not asked for.
type BatchPlan struct {
	Check *CheckPlan
	Mend  *MendPlan
	Voice *VoicePlan
}

// Plan says what the engine is to do; an error is an [*Error].
func (b *Batch) Plan() (*BatchPlan, error) {
	check, err := b.Checking.Plan()
	if err != nil {
		return nil, err
	}
	check.Files = true
	own := *b
	from := asked{request: &own, ofBatch: true}
	check.asked = from
	p := &BatchPlan{Check: check}
	if b.Mend {
		if p.Mend, err = b.Mending.plan(check.Law, check.Catalog, &b.Given); err != nil {
			return nil, err
		}
		p.Mend.Alike, p.Mend.asked = true, from
	}
	if b.Voice {
		// The rules that judge a voicing are those of the batch, if it names some.
		set, err := b.set()
		if err != nil {
			return nil, err
		}
		if p.Voice, err = b.Voicing.plan(set, check.Catalog); err != nil {
			return nil, prefixed("voice_", err)
		}
		p.Voice.asked = from
	}
	return p, nil
}

// prefixed is the error of a field that has another name in its group.
func prefixed(prefix string, err error) error {
	var wrong *Error
	if errors.As(err, &wrong) {
		return &Error{prefix + wrong.Field, wrong.Err}
	}
	return err
}
