// Package harmony names what a texture says harmonically: keys, chords with
// their Roman numerals and figures, the part each note plays in its chord, the
// phrases and their cadences.
//
// Begin with [Analyze]. It compares every way of dividing the music into
// harmonies and reading each of them in a key, and keeps the one reading of the
// whole piece that explains it best; [Harmony.Confidence] and
// [Harmony.RunnerUp] tell how far the next best reading is behind.
//
// [ReadRomanText] and [WriteRomanText] carry analyses in the open RomanText
// format (Tymoczko, Gotham, Cuthbert and Ariza, "The RomanText Format", ISMIR
// 2019).
//
// The package judges nothing: whether a doubled leading tone is a fault is for
// theory/partwriting to say.
package harmony
