package main

import (
	"container/heap"
	"math/rand/v2"
	"time"
)

// Draw gives the length of the next piece of time; randomness is its caller's.
type Draw func(*rand.Rand) time.Duration

// always takes the same time, each takes it on average (exponentially distributed).
func always(d time.Duration) Draw { return func(*rand.Rand) time.Duration { return d } }

func each(mean time.Duration) Draw {
	return func(r *rand.Rand) time.Duration { return time.Duration(r.ExpFloat64() * float64(mean)) }
}

// Visit is one piece of work at a station.
type Visit struct {
	Station int
	Takes   Draw
}

// Station is so many servers in front of one line, first come, first served.
type Station struct {
	Name    string
	Servers int

	busy    int
	line    []*customer
	worked  time.Duration
	waited  float64 // seconds: sums of days do not fit a Duration
	delayed int     // customers that had to wait
	served  int
}

// Utilization is the share of its servers' time that a station worked.
func (s *Station) Utilization(over time.Duration) float64 {
	return s.worked.Seconds() / (over.Seconds() * float64(s.Servers))
}

// MeanWait is the mean time before service, Delayed the share that had to wait.
func (s *Station) MeanWait() time.Duration { return mean(s.waited, s.served) }

func mean(seconds float64, n int) time.Duration {
	return time.Duration(seconds / float64(max(n, 1)) * float64(time.Second))
}

// Delayed is the share of customers that found no server free.
func (s *Station) Delayed() float64 { return float64(s.delayed) / float64(max(s.served, 1)) }

type customer struct {
	route   []Visit
	arrived time.Duration // at the system
	queued  time.Duration // at the station
}

type event struct {
	at   time.Duration
	who  *customer // nil: the next arrival
	from int       // the station that is left
}

type agenda []event

func (a agenda) Len() int           { return len(a) }
func (a agenda) Less(i, j int) bool { return a[i].at < a[j].at }
func (a agenda) Swap(i, j int)      { a[i], a[j] = a[j], a[i] }

// Push and Pop implement [heap.Interface].
func (a *agenda) Push(x any) { *a = append(*a, x.(event)) }
func (a *agenda) Pop() any {
	old := *a
	last := old[len(old)-1]
	*a = old[:len(old)-1]
	return last
}

// Network is a discrete-event simulation of customers that go from station to
// station.
type Network struct {
	Stations []*Station
	// Between is the time between two arrivals at a moment, Route what an arrival
	// has to go through.
	Between func(now time.Duration, r *rand.Rand) time.Duration
	Route   func(*rand.Rand) []Visit
	Seed    uint64

	now    time.Duration
	agenda agenda
	random *rand.Rand // of services; arrivals have their own, to be the same before any servers
	// Arrived and Done count customers, Most those in the network at the worst
	// moment; Longest is the longest time in it.
	Arrived, Done, Most int
	Longest             time.Duration
	stay                float64 // seconds
}

// MeanStay is the mean time of those done.
func (n *Network) MeanStay() time.Duration { return mean(n.stay, n.Done) }

// Run lets customers arrive for a time, and counts what happened in it.
func (n *Network) Run(length time.Duration) {
	n.random = rand.New(rand.NewPCG(n.Seed, 1))  // #nosec G404 -- a simulation is to be repeated
	arrivals := rand.New(rand.NewPCG(n.Seed, 2)) // #nosec G404 -- the same
	n.schedule(event{at: n.Between(0, arrivals), from: -1})
	for len(n.agenda) > 0 {
		e := heap.Pop(&n.agenda).(event)
		if e.at > length {
			return
		}
		n.now = e.at
		if e.who == nil {
			n.schedule(event{at: n.now + n.Between(n.now, arrivals), from: -1})
			n.Arrived++
			n.Most = max(n.Most, n.Arrived-n.Done)
			n.enter(&customer{route: n.Route(n.random), arrived: n.now})
			continue
		}
		n.leave(n.Stations[e.from])
		n.enter(e.who)
	}
}

func (n *Network) schedule(e event) { heap.Push(&n.agenda, e) }

// enter takes a customer to the next station of its route, or out.
func (n *Network) enter(c *customer) {
	if len(c.route) == 0 {
		n.Done++
		stay := n.now - c.arrived
		n.stay, n.Longest = n.stay+stay.Seconds(), max(n.Longest, stay)
		return
	}
	s := n.Stations[c.route[0].Station]
	c.queued = n.now
	if s.busy < s.Servers {
		s.busy++
		n.serve(s, c)
		return
	}
	s.delayed++
	s.line = append(s.line, c)
}

func (n *Network) serve(s *Station, c *customer) {
	visit := c.route[0]
	c.route = c.route[1:]
	takes := visit.Takes(n.random)
	s.served++
	s.waited += (n.now - c.queued).Seconds()
	s.worked += takes
	n.schedule(event{n.now + takes, c, visit.Station})
}

func (n *Network) leave(s *Station) {
	if len(s.line) == 0 {
		s.busy--
		return
	}
	next := s.line[0]
	s.line = s.line[1:]
	n.serve(s, next)
}
