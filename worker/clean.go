package worker

import (
	"context"

	"partwright/musicxml"
	"partwright/worker/answer"
	"partwright/worker/stage"
)

// clean takes our marks off a score and returns it in the container it came in.
func (e *Engine) clean(ctx context.Context, in Input) (*answer.Answer, error) {
	var document *musicxml.Document
	a := &answer.Answer{}
	err := e.stages(ctx, []step{
		{stage.Read, func() (err error) {
			document, err = musicxml.Read(in.Name, in.Data, e.Limits)
			return err
		}},
		{stage.Write, func() error {
			score, err := document.Clean()
			a.AddScore(answer.Clean, 0, score)
			return err
		}},
	})
	if err != nil {
		return nil, err
	}
	return a, nil
}
