// Package partwriting checks how voices move and meet. A [Rule] is one value:
// its id, name, family, default severity, source, and the function that finds
// it. [Check] runs the rules of a [RuleSet] over a [Passage] and returns
// [Finding]s in the order a reader meets them.
//
// To add a rule, write it in the file of its family and add it to that family's
// slice; its words go into the catalogs under catalog/.
package partwriting
