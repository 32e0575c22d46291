// Package texture says what kind of texture a score has: a choir, keyboard style,
// a song with piano, an ensemble. What rules hold, which doublings are no fault and
// which model reads the harmony all go by this one classification.
//
// It goes by what stands on the page (parts, staves, layers, names of instruments)
// and by how the voices move. The measures are our own and stand beside each test;
// that a texture decides what counts as a fault is common practice, no source.
package texture
