// Command capacity says what so many scores a day take, and where the next limit
// is: by arithmetic on measured costs, and by simulating days on which archives
// come as they like.
//
//	go run ./deploy/capacity            tables, as in deploy/CAPACITY.md
//	go run ./deploy/capacity -svg FILE  the picture there
package main

import (
	"cmp"
	"flag"
	"fmt"
	"io"
	"os"
	"slices"
	"time"
)

func main() {
	perDay := flag.Float64("scores", 10e6, "scores a day that are simulated")
	archive := flag.Int("archive", 50_000, "scores of one archive")
	days := flag.Int("days", 3, "days that are simulated")
	svg := flag.String("svg", "", "write the picture to this file as well")
	flag.Parse()
	if *perDay <= 0 || *archive <= 0 || *days <= 0 {
		fmt.Fprintln(os.Stderr, "capacity: scores, archive and days must be more than 0")
		os.Exit(2)
	}
	load := Load{PerDay: *perDay, Archive: *archive, Hours: workday}
	outcomes := sweep(load, measured, oneServer, *days)
	writeNeeds(os.Stdout, measured, oneServer)
	writeOutcomes(os.Stdout, load, outcomes)
	if *svg != "" {
		if err := os.WriteFile(*svg, []byte(picture(measured, oneServer)), 0o600); err != nil {
			fmt.Fprintln(os.Stderr, "capacity:", err)
			os.Exit(1)
		}
	}
}

func sortBy[T any, K cmp.Ordered](all []T, key func(T) K) {
	slices.SortFunc(all, func(a, b T) int { return cmp.Compare(key(a), key(b)) })
}

// sweep simulates with just more worker cores than the work needs, and with more.
func sweep(l Load, c Costs, b Bounds, days int) []Outcome {
	least := need(l.PerDay, c, b).WorkerCores
	var all []Outcome
	cores := 0
	for _, factor := range []float64{1, 1.25, 1.5, 2, 3} {
		cores = max(int(least*factor)+1, cores+1)
		all = append(all, simulate(l, c, b, cores, days, 1))
	}
	return all
}

func writeNeeds(w io.Writer, c Costs, b Bounds) {
	fmt.Fprintln(w, "| scores a day | a second | worker cores | database cores | log MB/s | disk a day, GB | connections |")
	fmt.Fprintln(w, "|---:|---:|---:|---:|---:|---:|---:|")
	for _, perDay := range []float64{50e3, 1e6, 3e6, 10e6, 30e6, 100e6} {
		n := need(perDay, c, b)
		fmt.Fprintf(w, "| %.0f | %.1f | %.2f | %.2f | %.2f | %.1f | %.0f |\n", perDay, perDay/86400,
			n.WorkerCores, n.DatabaseCores, n.LogPerSecond/1e6, n.DiskPerDay/1e9, n.Connections)
	}
	fmt.Fprintln(w, "\n| limit of one database | met at, million scores a day |")
	fmt.Fprintln(w, "|---|---:|")
	for _, l := range limits(c, b) {
		fmt.Fprintf(w, "| %s | %.1f |\n", l.Name, l.PerDay/1e6)
	}
}

func writeOutcomes(w io.Writer, l Load, all []Outcome) {
	fmt.Fprintf(w, "\n%.0f scores a day in archives of %d:\n\n", l.PerDay, l.Archive)
	fmt.Fprintln(w, "| worker cores | workers busy | database busy | a job stays, mean | at most | jobs at the worst moment |")
	fmt.Fprintln(w, "|---:|---:|---:|---:|---:|---:|")
	for _, o := range all {
		fmt.Fprintf(w, "| %d | %.0f %% | %.1f %% | %s | %s | %d |\n", o.Cores, 100*o.WorkersBusy, 100*o.DatabaseBusy,
			o.MeanStay.Round(time.Second), o.LongestDay.Round(time.Second), o.Backlog)
	}
}
