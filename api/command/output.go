package command

import (
	"fmt"
	"io"

	"partwright/worker/report"
)

// output is where the answers of a run are printed.
type output = report.Encoder

func newOutput(w io.Writer, f *checkFlags) (output, error) {
	switch f.format {
	case "json":
		return report.EncodeJSON(w), nil
	case "ndjson":
		return report.EncodeNDJSON(w), nil
	case "csv":
		return report.EncodeCSV(w), nil
	case "table":
		if f.quiet {
			return &tables{w: io.Discard}, nil
		}
		return &tables{w: w, width: widthOf(w)}, nil
	}
	return nil, fmt.Errorf("--format %s: say table, json, ndjson or csv", f.format)
}
