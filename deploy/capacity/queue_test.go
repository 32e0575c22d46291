package main

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// station is a single station with Poisson arrivals, so many a second.
func station(servers int, perSecond float64, takes Draw, length time.Duration) *Network {
	n := &Network{
		Stations: []*Station{{Servers: servers}}, Seed: 7,
		Between: func(_ time.Duration, r *rand.Rand) time.Duration {
			return time.Duration(r.ExpFloat64() / perSecond * float64(time.Second))
		},
		Route: func(*rand.Rand) []Visit { return []Visit{{0, takes}} },
	}
	n.Run(length)
	return n
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance*want {
		t.Errorf("%s: %.5g, want %.5g", what, got, want)
	}
}

// Values of Erlang's delay formula. 1/3 and 4/9 follow by hand from D. Gross and
// C. M. Harris, Fundamentals of Queueing Theory, section 2.3; those of 5 and 10
// servers as tables of Erlang C print them (from memory).
func TestErlangC(t *testing.T) {
	for _, tt := range []struct {
		servers       int
		offered, want float64
	}{
		{1, 0.6, 0.6}, {2, 1, 1. / 3}, {3, 2, 4. / 9}, {5, 4, 0.5541}, {10, 8, 0.4092},
	} {
		near(t, "formula", erlangC(tt.servers, tt.offered), tt.want, 2e-4)
		n := station(tt.servers, tt.offered, each(time.Second), 100_000*time.Second)
		near(t, "simulated share that waits", n.Stations[0].Delayed(), tt.want, 0.03)
		wait := tt.want / (float64(tt.servers) - tt.offered)
		near(t, "simulated mean wait", n.Stations[0].MeanWait().Seconds(), wait, 0.05)
	}
}

// Pollaczek and Khinchine: with service that always takes the same, half the wait.
func TestFixedServiceHalvesTheWait(t *testing.T) {
	for _, rho := range []float64{0.5, 0.8, 0.9} {
		n := station(1, rho, always(time.Second), 300_000*time.Second)
		near(t, "mean wait", n.Stations[0].MeanWait().Seconds(), rho/(2*(1-rho)), 0.05)
	}
}

// Little: customers in the system = arrivals a second times their stay; and a
// station works as much as is brought to it.
func TestLawsOfAnyQueue(t *testing.T) {
	const length = 100_000 * time.Second
	n := station(3, 2.4, each(time.Second), length)
	near(t, "utilization", n.Stations[0].Utilization(length), 0.8, 0.02)
	wait := erlangC(3, 2.4) / 0.6
	near(t, "customers in the system", n.stay/length.Seconds(), 2.4*(1+wait), 0.05)
	if n.Arrived-n.Done > 100 {
		t.Errorf("%d of %d customers have not left", n.Arrived-n.Done, n.Arrived)
	}
}

// Jackson: in a row of stations with exponential service each waits as if alone.
func TestStationsInARow(t *testing.T) {
	n := &Network{
		Stations: []*Station{{Servers: 1}, {Servers: 2}}, Seed: 3,
		Between: func(_ time.Duration, r *rand.Rand) time.Duration {
			return time.Duration(r.ExpFloat64() * 2 * float64(time.Second))
		},
		Route: func(*rand.Rand) []Visit { return []Visit{{0, each(time.Second)}, {1, each(2 * time.Second)}} },
	}
	n.Run(200_000 * time.Second)
	near(t, "wait at the first", n.Stations[0].MeanWait().Seconds(), 1, 0.05)
	near(t, "wait at the second", n.Stations[1].MeanWait().Seconds(), 2*erlangC(2, 1), 0.05)
}

// erlangC is the share of customers that must wait at c servers offered a erlangs
// of exponentially distributed work (A. K. Erlang, 1917).
func erlangC(c int, a float64) float64 {
	// By the recursion of his loss formula, which does not overflow.
	b := 1.0
	for k := 1; k <= c; k++ {
		b = a * b / (float64(k) + a*b)
	}
	rho := a / float64(c)
	return b / (1 - rho*(1-b))
}
