// Package wall runs jobs of the engine in child processes of the same program, so that
// whatever a score does to its process (memory without end, a loop without end, a crash)
// happens to that score alone. Begin at [New]; the program calls [Serve] where it is
// started as such a child.
//
// Budgets end a job long before, see [theory.Work]; this is what stands behind them. A
// child does one job at a time and many one after the other; short ones may be sent to it
// before it comes to them, see [Wall.Together]. It is ended where it
// outlives the deadline of its job by more than a second, and by the system where it
// takes more memory or processor time than it may, as far as the system has such limits
// (Linux has). Nothing of a job is written to disk.
package wall
