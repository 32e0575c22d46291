// Package worker does the jobs of Partwright on one score: check it, mend it,
// voice a progression, list how a sonority can go on, take marks off. Begin at
// [Engine], whose methods are the jobs.
//
// The packages below it hold what the jobs read and write (settings, report,
// stage) and what runs them many times (files, pool, queue, batch, store). The
// package itself knows no folders, no pool and no HTTP.
package worker
