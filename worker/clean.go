package worker

import (
	"context"

	"partwright/musicxml"
	"partwright/worker/stage"
)

// Clean takes our marks off a score and returns it in the container it came in.
// A score that cannot be read is a [*musicxml.InputError].
func (e *Engine) Clean(ctx context.Context, in Input) ([]byte, error) {
	var document *musicxml.Document
	var clean []byte
	err := e.stages(ctx, []step{
		{stage.Read, func() (err error) {
			document, err = musicxml.Read(in.Name, in.Data, e.Limits)
			return err
		}},
		{stage.Write, func() (err error) {
			clean, err = document.Clean()
			return err
		}},
	})
	return clean, err
}
