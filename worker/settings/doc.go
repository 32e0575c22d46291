// Package settings reads the files that a teacher writes: rule sets, rubrics, lists
// of what is accepted, and labels that came beside a score. Begin at [ReadRuleSet];
// whatever is wrong with a file comes back as an [Error] with a line for each
// problem.
//
// It knows what such a file says, not what a rule does: that is in
// theory/partwriting. It opens no files; callers hand over the bytes.
package settings
