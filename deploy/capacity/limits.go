package main

import "math"

// Need is what so many scores a day take at an even pace.
type Need struct {
	PerDay float64
	// WorkerCores and DatabaseCores are processors at work.
	WorkerCores, DatabaseCores float64
	LogPerSecond               float64
	DiskPerDay, DiskKept       float64
	Processes, Connections     float64
}

// need is arithmetic: the simulation shows what uneven arrivals make of it.
func need(perDay float64, c Costs, b Bounds) Need {
	perSecond := perDay / 86400
	n := Need{PerDay: perDay}
	n.WorkerCores = perSecond * c.Score.Seconds()
	n.DatabaseCores = perSecond * (c.DatabaseScore.Seconds() + c.DatabaseJob.Seconds()/float64(c.Chunk))
	n.LogPerSecond = perSecond * float64(c.Log)
	n.DiskPerDay = perDay * float64(c.Stored)
	n.DiskKept = n.DiskPerDay * b.Keep.Hours() / 24
	n.Processes = math.Ceil(n.WorkerCores / b.Busy / float64(b.WorkerCores))
	n.Connections = n.Processes * float64(b.PerProcess)
	return n
}

// limit is a bound of one database and how many scores a day meet it.
type limit struct {
	Name   string
	PerDay float64
}

// limits are those of one database, the nearest first.
func limits(c Costs, b Bounds) []limit {
	one := need(1e6, c, b)
	all := []limit{
		{"disk", 1e6 * b.Disk / one.DiskKept},
		{"write-ahead log", 1e6 * b.LogBytes / one.LogPerSecond},
		{"processors of the database", 1e6 * float64(b.DatabaseCores) * b.Busy / one.DatabaseCores},
		{"connections", 1e6 * float64(b.Connections) / (one.WorkerCores / b.Busy / float64(b.WorkerCores) * float64(b.PerProcess))},
	}
	sortBy(all, func(l limit) float64 { return l.PerDay })
	return all
}
