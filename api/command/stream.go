package command

import (
	"bufio"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/worker/address"
	"partwright/worker/files"
	"partwright/worker/request"
	"partwright/worker/shard"
)

// addressFlags are the settings of the commands that answer what addresses name.
type addressFlags struct {
	scoreFlags
	request request.Check
	fields  *requestFlags
	readers int
}

func (f *addressFlags) addAddresses(flags *pflag.FlagSet) {
	f.addWork(flags)
	flags.IntVar(&f.readers, "readers", 0, "scores fetched at once, 0 for four for each worker")
	f.fields = addRequest(flags, &f.request)
}

// runner is what answers the scores.
func (f *addressFlags) runner(version string, earlier *files.Earlier) (*shard.Runner, error) {
	if err := f.fields.bind(nil); err != nil {
		return nil, err
	}
	r := &f.request
	switch {
	case r.Voices:
		return nil, errors.New("--voices writes files, and here an answer is one line: use check --out")
	case r.Upgrade:
		return nil, errors.New("--upgrade changes marked scores, and here an answer is one line: use check --out")
	case len(r.Annotate) > 0:
		return nil, errors.New("--annotate writes into marked scores, and here an answer is one line: use check --out")
	}
	plan, err := r.Plan()
	if err != nil {
		return nil, f.fields.inFlags(err)
	}
	return shard.New(shard.Config{
		Version: version, Limits: f.limits, Workers: f.workers, Deadline: f.timeout, Readers: f.readers,
		Storage: address.Open(address.Config{}), Wish: plan.Wish(), Earlier: earlier,
	})
}

func newStream() *cobra.Command {
	var f addressFlags
	cmd := &cobra.Command{
		Use:   "stream",
		Short: "Answer scores on standard input, a line each",
		Long: `Stream reads lines of JSON from standard input and writes for each, in the same
order, the line that check --format ndjson writes. A line is one of:

  {"address": "s3://scores/1.musicxml"}          an object, or a file
  {"name": "1.musicxml", "score": "<score-…"}    a document
  {"name": "1.mxl", "packed": "UEsDBBQ…"}        a container, in base64

It reads no further than the answers are taken. What cannot be answered is a line
with "failure"; its code "unreachable" says that trying again may help. Since each
line has one line in answer, a stream that was broken off goes on behind as many
lines as whole answers have come.

Addresses s3://… use the credentials, region and endpoint of the usual variables:
AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_REGION, AWS_ENDPOINT_URL.

Exit status: 0 all scores were read; 1 some could not be read; 2 wrong use.`,
		Example: `  partwright stream <addresses.ndjson >answers.ndjson
  partwright addresses s3://scores/ | jq -Rc '{address: .}' | partwright stream`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.run(cmd) },
	}
	f.addAddresses(cmd.Flags())
	cmd.Flags().StringVar(&f.earlier, "earlier", "", "answers that an earlier stream has written, as a `file`: those that this version would give again are taken over")
	return cmd
}

// jsonGrows is how many times longer a document may be as a text in JSON.
const jsonGrows = 2

func (f *addressFlags) run(cmd *cobra.Command) error {
	var earlier *files.Earlier
	if f.earlier != "" {
		answers, err := os.Open(f.earlier)
		if err != nil {
			return fmt.Errorf("--earlier: %w", err)
		}
		defer func() { _ = answers.Close() }()
		if earlier, err = files.EarlierLines(answers, cmd.Root().Version); err != nil {
			return Failed(fmt.Errorf("--earlier %s: %w", f.earlier, err))
		}
	}
	r, err := f.runner(cmd.Root().Version, earlier)
	if err != nil {
		return err
	}
	ctx := cmd.Context()
	sources, ended := shard.Sources(cmd.InOrStdin(), int(f.limits.MaxBytes)*jsonGrows+1<<16)
	out := bufio.NewWriter(cmd.OutOrStdout())
	var counts files.Counts
	for line := range r.Answers(ctx, sources) {
		if line.Failure != nil {
			counts.Unreadable++
		} else {
			counts.Read++
		}
		_, err := out.Write(line.Text)
		if err == nil {
			err = out.Flush() // whoever asks line by line waits for it
		}
		if err != nil {
			return Failed(fmt.Errorf("the answer could not be written: %w", err))
		}
	}
	if ctx.Err() != nil {
		return Failed(errors.New("stopped before the end"))
	}
	if err := ended(); err != nil {
		return Failed(fmt.Errorf("standard input could not be read: %w", err))
	}
	console := newConsole(cmd, f.quiet)
	if earlier != nil {
		console.inform("%s", earlier)
	}
	console.inform("%s", counted(&counts))
	if counts.Unreadable > 0 {
		return &status{code: exitUnreadable}
	}
	return nil
}
