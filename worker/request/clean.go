package request

// Clean asks for our marks to be taken off a score. There is nothing to choose.
type Clean struct{}

// Fields implements [Request].
func (*Clean) Fields() []Field { return nil }

// CleanPlan is what the engine does when it cleans.
type CleanPlan struct{}

// Plan says what the engine is to do.
func (*Clean) Plan() (*CleanPlan, error) { return &CleanPlan{}, nil }
