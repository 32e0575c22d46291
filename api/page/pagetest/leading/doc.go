// Package leading holds tests of the view in which a phrase gets its voices: rows of chords,
// basses and melodies, the ways at a change, and what is printed of them. They stand apart
// from the other tests of the page so that no test binary takes longer than it may.
package leading
