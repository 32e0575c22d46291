package main

import "time"

// Costs are what a score and a job cost. Measured by BenchmarkScore in the folder
// above, as processor time, on two cores of an AMD EPYC without other work, with
// 195 chorales in closed score, findings and marked scores kept; PostgreSQL 15 on
// the same machine. A score's cost goes with its length: measure your own.
type Costs struct {
	// Score is processor time of a worker for one score in a batch, from the
	// database back into it.
	Score time.Duration
	// DatabaseScore is PostgreSQL's processor time for one score, from its
	// arrival to its answer; DatabaseJob for one job besides.
	DatabaseScore, DatabaseJob time.Duration
	// Stored are the bytes that a score with its answer takes on the database's
	// disk, Log those of the write-ahead log.
	Stored, Log int64
	// Chunk is how many scores are one job.
	Chunk int
}

var measured = Costs{
	Score:         5100 * time.Microsecond,
	DatabaseScore: 810 * time.Microsecond,
	DatabaseJob:   2660 * time.Microsecond,
	Stored:        23_500,
	Log:           20_000,
	Chunk:         32,
}

// Bounds are what one PostgreSQL is given here. They are choices, not measurements:
// a server with so many cores, kept two thirds busy at the most, and a disk.
type Bounds struct {
	DatabaseCores int
	Busy          float64
	// LogBytes is how much write-ahead log a second a replica and an archive are
	// to follow.
	LogBytes float64
	// Disk in bytes, kept for Keep.
	Disk float64
	Keep time.Duration
	// Connections at most, and how many a worker process of WorkerCores holds.
	Connections, PerProcess, WorkerCores int
}

var oneServer = Bounds{
	DatabaseCores: 16, Busy: 2. / 3, LogBytes: 50e6, Disk: 8e12, Keep: 30 * 24 * time.Hour,
	Connections: 500, PerProcess: 8, WorkerCores: 8,
}
