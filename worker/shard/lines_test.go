package shard

import (
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"
)

func TestSourcesAreLines(t *testing.T) {
	text := strings.Join([]string{
		`{"address": "a.musicxml"}`, ``, `{"address": "s3://b/c", "name": "n"}`,
		`{"name": "n", "score": "<score-partwise/>"}`,
		`{"score": "x"}`, `{"name": "p", "packed": "` + base64.StdEncoding.EncodeToString([]byte("PK")) + `"}`,
		`not json`, `{"name": "nothing"}`, `{"address": "a", "score": "b"}`, `{"packed": "!"}`,
		`{"name": "` + strings.Repeat("x", 200_000) + `"}`, `{"address": "after"}`,
	}, "\n")
	want := []string{
		"a.musicxml @a.musicxml", "n @s3://b/c", "n =<score-partwise/>", "line 5 =x", "p =PK",
		"line 7 !7", "nothing !8", "a !9", "line 10 !10", "line 11 !11", "after @after",
	}
	sources, ended := Sources(strings.NewReader(text), 100_000)
	i := 0
	for s := range sources {
		got := s.Name + " "
		switch {
		case s.Failure != nil:
			got += fmt.Sprint("!", s.Failure.Line)
			if s.Failure.Code != codeUnreadableLine || s.Address != "" || s.Data != nil {
				t.Errorf("%+v", s)
			}
		case s.Address != "":
			got += "@" + s.Address
		default:
			got += "=" + string(s.Data)
		}
		if i >= len(want) || got != want[i] {
			t.Errorf("source %d is %q, want %q", i, got, want[min(i, len(want)-1)])
		}
		i++
	}
	if i != len(want) || ended() != nil {
		t.Errorf("%d sources of %d, %v", i, len(want), ended())
	}
	sources, ended = Sources(iotest.ErrReader(errors.New("torn")), 10)
	for range sources {
		t.Error("a source out of nothing")
	}
	if ended() == nil {
		t.Error("the error of the reader is lost")
	}
}

// Whatever comes is a source or a failure, one a line, and nothing breaks.
func FuzzSources(f *testing.F) {
	f.Add(`{"address": "a"}`+"\n"+`{"name": "n", "score": "x"}`, 100)
	f.Add("\x00\n{\"packed\": \"UEs=\"}\r\n\n", 8)
	f.Fuzz(func(t *testing.T, text string, limit int) {
		limit = max(1, limit%1000)
		lines := strings.Count(text, "\n") + 1
		sources, ended := Sources(strings.NewReader(text), limit)
		n := 0
		for s := range sources {
			n++
			given := 0
			for _, is := range []bool{s.Address != "", len(s.Data) > 0, s.Failure != nil} {
				if is {
					given++
				}
			}
			if given != 1 || s.Name == "" {
				t.Errorf("%+v", s)
			}
		}
		if n > lines || ended() != nil {
			t.Errorf("%d sources of %d lines, %v", n, lines, ended())
		}
	})
}
