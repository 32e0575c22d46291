// Package theory holds what a harmony teacher talks about, as plain values:
// spelled pitches and intervals, exact time, keys and metres, scores, voices,
// sonorities and the motions between them.
//
// Begin with [Score] (what was written), [Texture] (the voices found in it) and
// [Texture.Moments] (what sounds together). theory/separation finds the voices,
// theory/harmony names the harmonies, theory/partwriting holds the rules, and
// theory/voicing writes the notes. All build on this package, which imports
// nothing but the standard library.
//
// The package is not a notation model: it knows no stems, beams or layout, no
// file format, clock, log or network. Values do not change once built, and the
// same input always gives the same output.
package theory
