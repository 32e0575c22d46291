// Package voicing gives chords their notes: from a progression it makes the
// phrase that keeps common tones, moves the rest the shortest way, resolves what
// must resolve, and breaks no rule that the caller holds to.
//
// Begin with [Solve]. The search is exact: over every arrangement of every
// chord inside the ranges of the voices it finds the cheapest path, by dynamic
// programming over arrangements and the last move of the top voice. [Options]
// shows what could follow one sonority, in the groups a teacher weighs, [Explain]
// why a voicing stands as it does, [Elaborate] decorates it. [Mend] takes the faults
// out of music that is there already.
//
// What is forbidden and what merely costs is kept apart: forbidden moves are
// those of theory/partwriting at severity fault, tested against that package;
// costs are a [Weights] value, each with its reason.
package voicing
