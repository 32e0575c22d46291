// Package separation finds the independent lines in a score: voice separation, as
// the trade calls it. [FindVoices] goes from what is written, parts, staves and
// layers, to what is sung, a [theory.Texture] of voices.
//
// A score goes through it in this order: the notes that sound are selected and
// their ties joined; layers become streams and streams lanes on staves; each staff
// gets a number of voices and its notes are ranked among them; the lines
// of all staves are put in order from the top.
package separation
