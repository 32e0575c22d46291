package command

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strconv"

	"github.com/spf13/cobra"

	"partwright/worker/address"
	"partwright/worker/files"
	"partwright/worker/shard"
)

// indexVariable is in which Kubernetes tells a pod of an indexed job its number.
const indexVariable = "JOB_COMPLETION_INDEX"

func newShard() *cobra.Command {
	var f addressFlags
	var s shard.Shard
	cmd := &cobra.Command{
		Use:   "shard [flags] --manifest ADDRESS --shards N --out FOLDER",
		Short: "Answer one part of a list of addresses",
		Long: `Shard answers the scores of a list that fall to one number, and writes their answers
to FOLDER/answers-00003-of-00040, a line for each, sorted by address. The file, or
object, appears whole or not at all. Where it is there already nothing is done: run
every number until it is there, wherever and as often as you like.

The list has an address on each line. FOLDER/run.json keeps what was asked, of which
engine; a folder for something else is refused.

--shard says which number, from 0. Without it ` + indexVariable + ` does, as in an
indexed job of Kubernetes. An address that cannot be read just now ends the shard with
status 1, and nothing is written; with --give-up it is a failure among the answers.

Exit status: 0 the answers are there; 1 they are not; 2 wrong use.`,
		Example: `  partwright addresses s3://scores/ >list
  seq 0 39 | xargs -P 2 -I{} partwright shard --manifest list --shards 40 --shard {} --out answers`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.runShard(cmd, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&s.Manifest, "manifest", "", "the `address` of the list of addresses")
	flags.StringVar(&s.Out, "out", "", "`folder` for answers, or s3://BUCKET/PREFIX")
	flags.IntVar(&s.Of, "shards", 1, "how many shards the list falls into")
	flags.IntVar(&s.Number, "shard", 0, "which of them, from 0 (default $"+indexVariable+")")
	flags.BoolVar(&s.GiveUp, "give-up", false, "answer addresses that cannot be read just now as failures")
	f.addAddresses(flags)
	return cmd
}

func (f *addressFlags) runShard(cmd *cobra.Command, s shard.Shard) error {
	switch {
	case s.Manifest == "":
		return errors.New("name the list of addresses with --manifest")
	case s.Out == "":
		return errors.New("name a folder for answers with --out")
	}
	if index := os.Getenv(indexVariable); index != "" && !cmd.Flags().Changed("shard") {
		number, err := strconv.Atoi(index)
		if err != nil {
			return fmt.Errorf("%s is %q: it must be the number of a shard", indexVariable, index)
		}
		s.Number = number
	}
	r, err := f.runner(cmd.Root().Version, nil)
	if err != nil {
		return err
	}
	if s.Number < 0 || s.Number >= s.Of {
		return fmt.Errorf("there is no shard %d of %d: they are counted from 0", s.Number, s.Of)
	}
	counts, err := r.Shard(cmd.Context(), s)
	if err != nil {
		return Failed(err)
	}
	return json.NewEncoder(cmd.OutOrStdout()).Encode(struct {
		Shard int `json:"shard"`
		Of    int `json:"of"`
		shard.Counts
	}{s.Number, s.Of, counts})
}

func newAddresses() *cobra.Command {
	var after string
	cmd := &cobra.Command{
		Use:   "addresses [flags] FOLDER",
		Short: "List the scores below a folder or in object storage",
		Long: `Addresses prints the address of every score (.musicxml, .xml, .mxl) below a folder, or
with a prefix s3://BUCKET/PREFIX, sorted by bytes, a line each: the list that stream and
shard take.`,
		Example: `  partwright addresses s3://scores/choir/ >list
  partwright addresses --after "$(tail -n 1 list)" s3://scores/choir/ >>list`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			for at, err := range address.Open(address.Config{}).List(cmd.Context(), args[0], after) {
				if err != nil {
					return Failed(err)
				}
				if !files.IsScoreName(at) {
					continue
				}
				if _, err := fmt.Fprintln(cmd.OutOrStdout(), at); err != nil {
					return Failed(err)
				}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&after, "after", "", "print only what comes after this `address`")
	markCommandLineOnly(cmd.Flags())
	return cmd
}
