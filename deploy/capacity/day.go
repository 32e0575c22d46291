package main

import (
	"math/rand/v2"
	"time"
)

// Load is what comes in: archives, all their scores at one moment, most of them in
// working hours.
type Load struct {
	PerDay  float64 // scores
	Archive int     // scores of one
	// Hours are how much comes in each hour of the day, to each other.
	Hours [24]float64
}

// workday: nine tenths between 8 and 18 o'clock.
var workday = func() (h [24]float64) {
	for i := range h {
		h[i] = 0.1 / 14
		if i >= 8 && i < 18 {
			h[i] = 0.9 / 10
		}
	}
	return h
}()

// Outcome is what became of the load with so many worker cores.
type Outcome struct {
	Cores                int
	WorkersBusy          float64
	DatabaseBusy         float64
	MeanStay, LongestDay time.Duration
	Backlog              int // jobs, at the worst moment
	Left                 int // jobs not done at the end
}

const (
	atDatabase = iota
	atWorkers
)

// simulate lets a load come for some days.
func simulate(l Load, c Costs, b Bounds, cores, days int, seed uint64) Outcome {
	var pending int // jobs of an archive that are still to be let in
	jobs := max(l.Archive/c.Chunk, 1)
	n := &Network{
		Stations: []*Station{{Name: "database", Servers: b.DatabaseCores}, {Name: "workers", Servers: cores}},
		Seed:     seed,
		Between: func(now time.Duration, r *rand.Rand) time.Duration {
			if pending > 0 {
				pending--
				return 0
			}
			pending = jobs - 1
			return l.next(now, r)
		},
		Route: func(*rand.Rand) []Visit {
			scores := float64(c.Chunk)
			half := time.Duration(float64(c.DatabaseScore)*scores+float64(c.DatabaseJob)) / 2
			return []Visit{
				{atDatabase, each(half)},
				{atWorkers, spread(time.Duration(float64(c.Score)*scores), c.Chunk)},
				{atDatabase, each(half)},
			}
		},
	}
	length := time.Duration(days) * 24 * time.Hour
	n.Run(length)
	return Outcome{
		Cores: cores, WorkersBusy: n.Stations[atWorkers].Utilization(length),
		DatabaseBusy: n.Stations[atDatabase].Utilization(length),
		MeanStay:     n.MeanStay(), LongestDay: n.Longest,
		Backlog: n.Most, Left: n.Arrived - n.Done,
	}
}

// next is the time until the next archive: a Poisson process whose rate goes with
// the hour, by thinning.
func (l Load) next(now time.Duration, r *rand.Rand) time.Duration {
	total, most := 0.0, 0.0
	for _, h := range l.Hours {
		total += h
		most = max(most, h)
	}
	perHour := l.PerDay / float64(l.Archive) * most / total
	at := now
	for {
		at += time.Duration(r.ExpFloat64() / perHour * float64(time.Hour))
		if r.Float64() < l.Hours[int(at.Hours())%24]/most {
			return at - now
		}
	}
}

// spread is the sum of n exponential times with that mean in all: scores differ,
// chunks of them less so.
func spread(mean time.Duration, n int) Draw {
	one := each(mean / time.Duration(n))
	return func(r *rand.Rand) (sum time.Duration) {
		for range n {
			sum += one(r)
		}
		return sum
	}
}
