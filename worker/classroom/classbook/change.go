package classbook

import "partwright/worker/classroom"

// Change is what something that was handed in or decided changes.
type Change struct {
	Organization string
	Assignment   *classroom.Assignment
	// Do is what the teacher did, "" where somebody handed in.
	Do classroom.Action
	// Marks are those of the references concerned, by reference.
	Marks []MarkChange
}

// MarkChange is the attempt of a reference that counts before and after. Before is nil for
// the first hand-in; Now is nil where no attempt counts.
type MarkChange struct {
	Before, Now *classroom.Outcome
	// Work is what was handed in of Now.
	Work *classroom.HandIn
}

// changedBy compares what counts with what counts next.
func (k *kept) changedBy(organization string, do classroom.Action, next *kept) *Change {
	c := &Change{Organization: organization, Assignment: next.assignment, Do: do}
	before := k.assignment.Outcomes(k.handIns, k.log)
	now := next.assignment.Outcomes(next.handIns, next.log)
	at := map[string]int{}
	for i := range now {
		reference := now[i].Reference
		if _, seen := at[reference]; !seen {
			at[reference] = len(c.Marks)
			c.Marks = append(c.Marks, MarkChange{})
		}
		if now[i].Counts {
			m := &c.Marks[at[reference]]
			m.Now, m.Work = &now[i], &next.handIns[i]
		}
	}
	for i := range before {
		if place, seen := at[before[i].Reference]; seen && before[i].Counts {
			c.Marks[place].Before = &before[i]
		}
	}
	return c
}
