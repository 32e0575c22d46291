// Package classroom sets an exercise to a class, checks what the class hands in against
// it, proposes marks, and says how the class did. Begin at [Prepare], which makes an
// [Assignment], and at [Marker.Mark], which marks one hand-in.
//
// What a teacher decides is an [Entry] of a [Log], which only grows: findings that are
// waived or accepted, remarks that are added, marks that are changed, what is released
// and taken back. [Assignment.Outcome] is what proposal and log come to, and [Report] how
// the whole class did. Nothing is final until the teacher releases it, and every answer
// says so.
//
// A pupil is an opaque reference here and nothing else. The package knows no HTTP and no
// database.
package classroom
