// Package shard answers the scores that addresses name, many at a time and in order, for
// engines that spread work over machines. Begin at [New], [Runner.Answers] and
// [Runner.Shard].
//
// A shard is the part of a list of addresses that falls to one number. Its answers are
// one object, which appears whole under a name that only this shard has; where it is
// there already, nothing is done. So each score is answered once however often, and
// wherever, a shard is run.
package shard
