package queue

// dialect holds the statements on River's tables, in which the databases keep
// times and lists differently.
type dialect struct {
	// lowestTurn reads the least scheduled_at of line $1 and priority $2 that
	// waits or runs, in milliseconds since 1970. Three lookups in the index,
	// however many jobs there are.
	lowestTurn string
	// sweep brings back the running jobs of clients that are gone. PostgreSQL
	// asks which are alive: those seen since $1, microseconds since 1970.
	sweep string
	// running reads id and attempt of the jobs that client $1 is said to work on.
	running string
	// waiting reads count and age in seconds of the oldest, by line and priority,
	// of jobs that are not done.
	waiting string
}

var sqlite = dialect{
	lowestTurn: `SELECT CAST(unixepoch(min(at), 'subsec') * 1000 + 0.5 AS INTEGER) FROM (
		SELECT min(scheduled_at) AS at FROM river_job WHERE state = 'available' AND queue = $1 AND priority = $2
		UNION ALL
		SELECT min(scheduled_at) FROM river_job WHERE state = 'running' AND queue = $1 AND priority = $2)`,
	// One process has the data directory: what runs in the table runs nowhere.
	sweep:   `UPDATE river_job SET state = 'available' WHERE state = 'running'`,
	running: `SELECT id, attempt FROM river_job WHERE state = 'running' AND $1 <> ''`, // the only client there is
	waiting: `SELECT queue, priority, count(*), max(0.0, unixepoch('now', 'subsec') - unixepoch(min(created_at), 'subsec'))
		FROM river_job WHERE state IN ('available', 'pending', 'retryable', 'running', 'scheduled') GROUP BY queue, priority`,
}

var postgres = dialect{
	lowestTurn: `SELECT (extract(epoch FROM min(at)) * 1000)::bigint FROM (
		SELECT min(scheduled_at) AS at FROM river_job WHERE state = 'available' AND queue = $1 AND priority = $2
		UNION ALL
		SELECT min(scheduled_at) FROM river_job WHERE state = 'running' AND queue = $1 AND priority = $2) AS turns`,
	// One statement sees one moment: whoever had taken a job by then had said
	// before that he lives.
	sweep: `UPDATE river_job SET state = 'available' WHERE state = 'running' AND NOT EXISTS (
		SELECT 1 FROM workers w WHERE w.id = river_job.attempted_by[array_upper(river_job.attempted_by, 1)] AND w.seen >= $1)`,
	running: `SELECT id, attempt::bigint FROM river_job WHERE state = 'running' AND attempted_by[array_upper(attempted_by, 1)] = $1`,
	waiting: `SELECT queue, priority::bigint, count(*), greatest(0, extract(epoch FROM clock_timestamp() - min(created_at)))::float8
		FROM river_job WHERE state IN ('available', 'pending', 'retryable', 'running', 'scheduled') GROUP BY queue, priority`,
}
