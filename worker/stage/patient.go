package stage

import "context"

type patientKey struct{}

// Patient is a context for work that may take long and is to give way to other work.
func Patient(ctx context.Context) context.Context {
	return context.WithValue(ctx, patientKey{}, true)
}

// IsPatient reports whether work is to give way.
func IsPatient(ctx context.Context) bool {
	patient, _ := ctx.Value(patientKey{}).(bool)
	return patient
}
