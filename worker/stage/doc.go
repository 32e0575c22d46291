// Package stage names the steps of a job and says how one can break off: with a
// panic of our own code, which [Guard] turns into a [PanicError], or at a
// deadline. The engine runs its steps with it, the pool its jobs.
//
// It does not run the steps and does not measure them; it begins the spans in
// which others do.
package stage
