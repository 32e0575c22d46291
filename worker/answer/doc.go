// Package answer holds what a job comes to for one score: a report and files, all
// named. An [Answer] is written to a folder, put into an archive, stored or sent; each
// of these has one writer, which needs to know nothing of the job.
//
// It does not make answers: the engine in worker does.
package answer
