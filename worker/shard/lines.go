package shard

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"

	"partwright/worker/report"
)

// asked is a line that asks for the answer to one score.
type asked struct {
	Address string `json:"address"`
	Name    string `json:"name"`
	// Score is a document, Packed a container in base64.
	Score  string `json:"score"`
	Packed []byte `json:"packed"`
}

// codeUnreadableLine is the code of a line that asks for nothing.
const codeUnreadableLine = "unreadable-line"

// Sources reads lines of JSON that ask for scores: {"address": "s3://scores/1.musicxml"},
// or {"name": "1.musicxml", "score": "<score-partwise…"}, or with "packed" a container in
// base64. A name beside an address is what the answer calls it. What is wrong with a line
// is the failure of that line alone; one that is longer than limit bytes is passed over.
// An error of the reader ends the sources, and the function that is returned says it.
func Sources(r io.Reader, limit int) (iter.Seq[Source], func() error) {
	var failed error
	return func(yield func(Source) bool) {
		lines := bufio.NewReaderSize(r, 1<<16)
		for number := 1; ; number++ {
			line, long, err := readLine(lines, limit)
			if err != nil && !errors.Is(err, io.EOF) {
				failed = err
				return
			}
			if len(bytes.TrimSpace(line)) > 0 || long {
				if !yield(sourceOf(line, long, number, limit)) {
					return
				}
			}
			if err != nil {
				return
			}
		}
	}, func() error { return failed }
}

// readLine reads up to the next line end. Of a line that is too long nothing is kept.
func readLine(r *bufio.Reader, limit int) (line []byte, long bool, err error) {
	for {
		piece, err := r.ReadSlice('\n')
		if long = long || len(line)+len(piece) > limit; !long {
			line = append(line, piece...)
		}
		if !errors.Is(err, bufio.ErrBufferFull) {
			return line, long, err
		}
	}
}

// sourceOf is what a line asks for.
func sourceOf(line []byte, long bool, number, limit int) Source {
	var a asked
	problem := ""
	if long {
		problem = fmt.Sprintf("The line has more than %d bytes.", limit)
	} else if err := json.Unmarshal(line, &a); err != nil {
		problem = fmt.Sprintf("The line is not JSON as it is wanted (%v).", err)
	}
	given := 0
	for _, is := range []bool{a.Address != "", a.Score != "", len(a.Packed) > 0} {
		if is {
			given++
		}
	}
	if problem == "" && given != 1 {
		problem = `The line must have one of "address", "score" and "packed".`
	}
	s := Source{Name: a.Name, Address: a.Address, Data: a.Packed}
	if a.Score != "" {
		s.Data = []byte(a.Score)
	}
	if s.Name == "" {
		s.Name = a.Address
	}
	if s.Name == "" {
		s.Name = fmt.Sprintf("line %d", number)
	}
	if problem != "" {
		return Source{Name: s.Name, Failure: &report.Failure{
			File: s.Name, Code: codeUnreadableLine, Line: number, Problem: problem,
			Advice: `Write {"address": "…"} or {"name": "…", "score": "…"} on a line.`,
		}}
	}
	return s
}
