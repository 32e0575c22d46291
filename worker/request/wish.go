package request

// Wish is a plan as text: all that another process needs to make the same one.
type Wish struct {
	Job Job `json:"job"`
	// Said is what was asked for, without what is the default.
	Said Values `json:"said,omitempty"`
	// OfBatch tells that it was asked for with a batch, whose request Said is then.
	OfBatch bool `json:"of_batch,omitempty"`
	// Files and Alike are as in the plans.
	Files bool `json:"files,omitempty"`
	Alike bool `json:"alike,omitempty"`
}

// asked is the request that a plan was made of; ofBatch tells that it is one for many
// scores.
type asked struct {
	request Request
	ofBatch bool
}

func (a *asked) wish(job Job) Wish {
	w := Wish{Job: job, OfBatch: a.ofBatch}
	if a.request != nil {
		w.Said = say(a.request)
	}
	return w
}

// say lists what a request asks for beyond the defaults.
func say(r Request) Values {
	said := Values{}
	fields := r.Fields()
	on := map[string]bool{"": true}
	for i := range fields {
		f := &fields[i]
		if !on[f.Group] || f.Value() == f.Default {
			continue
		}
		on[f.Name] = f.Value() == "true"
		said[f.Name] = Source{Text: f.Value()}
		if f.source != nil {
			said[f.Name] = f.source()
		}
	}
	return said
}

// Plan makes the plan again.
func (w *Wish) Plan() (Plan, error) {
	if w.OfBatch {
		var b Batch
		if err := Bind(&b, w.Said); err != nil {
			return nil, err
		}
		p, err := b.Plan()
		if err != nil {
			return nil, err
		}
		return p.of(w.Job), nil
	}
	switch w.Job {
	case JobMend:
		p, err := bound(&Mend{}, w.Said, (*Mend).Plan)
		if err == nil {
			p.Alike = w.Alike
		}
		return p, err
	case JobVoice:
		return bound(&Voice{}, w.Said, (*Voice).Plan)
	case JobContinue:
		return bound(&Continue{}, w.Said, (*Continue).Plan)
	case JobRevise:
		return bound(&Revise{}, w.Said, (*Revise).Plan)
	case JobClean:
		return &CleanPlan{}, nil
	default:
		p, err := bound(&Check{}, w.Said, (*Check).Plan)
		if err == nil {
			p.Files = w.Files
		}
		return p, err
	}
}

// of is the plan of a batch for one of its jobs.
func (p *BatchPlan) of(job Job) Plan {
	switch job {
	case JobMend:
		return p.Mend
	case JobVoice:
		return p.Voice
	default:
		return p.Check
	}
}

func bound[R Request, P any](r R, said Values, plan func(R) (P, error)) (p P, err error) {
	if err = Bind(r, said); err != nil {
		return p, err
	}
	return plan(r)
}

// Wish implements [Plan].
func (p *CheckPlan) Wish() Wish {
	w := p.asked.wish(p.Job())
	w.Files = p.Files
	return w
}

// Wish implements [Plan].
func (p *MendPlan) Wish() Wish {
	w := p.asked.wish(JobMend)
	w.Alike = p.Alike
	return w
}

// Wish implements [Plan].
func (p *VoicePlan) Wish() Wish { return p.asked.wish(JobVoice) }

// Wish implements [Plan].
func (p *ContinuePlan) Wish() Wish { return p.asked.wish(JobContinue) }

// Wish implements [Plan].
func (*CleanPlan) Wish() Wish { return Wish{Job: JobClean} }
