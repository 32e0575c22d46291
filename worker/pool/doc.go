// Package pool runs jobs of the engine on a bounded number of slots, with a bounded
// queue before them, a deadline for each, and metrics. Begin at [New] and
// [Pool.Submit].
//
// It is the pool of one process and forgets its queue when the process ends; what
// outlives a process is in worker/queue.
package pool
