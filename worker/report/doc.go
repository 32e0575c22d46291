// Package report holds what the jobs answer: the JSON of a check, a mending, a
// voicing and a list of continuations, and the other formats of the same facts:
// CSV, RomanText, MIDI, statistics over many scores. Begin at [Report] and
// [Encoder].
//
// It decides nothing about music and writes no files; the OpenAPI document in api
// describes the same fields.
package report
