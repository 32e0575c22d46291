// Package files finds scores among files, folders and archives, runs a job over
// them in order, and writes the files of the answers under a folder. Begin at
// [Inputs], [Run] and [OutDir].
//
// It does not know which job it runs, and reads no score: the job gets the bytes.
package files
