package api

import (
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"testing"

	"partwright/musicxml/container"
)

func TestCheckAnswersByAccept(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	packed, err := container.Pack("score.musicxml", []byte(tinyScore))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name, accept, query, body string
		status                    int
		want                      string
	}{
		{"no header", "", "", tinyScore, 200, typeJSON},
		{"anything", "*/*", "", tinyScore, 200, typeJSON},
		{"a browser", "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "", tinyScore, 200, typeJSON},
		{"findings", typeJSON, "", tinyScore, 200, typeJSON},
		{"the score", typeMusicXML, "", tinyScore, 200, typeMusicXML},
		{"the score packed", typeContainer, "", tinyScore, 200, typeContainer},
		{"a packed score", typeContainer, "", string(packed), 200, typeContainer},
		{"a packed score unpacked", typeMusicXML, "", string(packed), 200, typeMusicXML},
		{"either form", typeMusicXML + ", " + typeContainer, "", string(packed), 200, typeContainer},
		{"both", typeMixed, "", tinyScore, 200, typeMixed},
		{"quality decides", typeJSON + ";q=0.5, " + typeMusicXML + ";q=0.9", "", tinyScore, 200, typeMusicXML},
		{"quality 0 forbids", "*/*, " + typeJSON + ";q=0", "", tinyScore, 200, typeMusicXML},
		{"the specific range wins", "application/*;q=0.9, " + typeJSON + ";q=0.1", "", tinyScore, 200, typeMusicXML},
		{"marks wanted", "*/*", "?marks=true", tinyScore, 200, typeMixed},
		{"marks wanted in the score", typeMusicXML, "?marks=true", tinyScore, 200, typeMusicXML},
		{"marks not wanted", "multipart/*, application/*;q=0.1", "?marks=false", tinyScore, 200, typeJSON},
		{"a page", "text/html", "", tinyScore, 406, "application/problem+json"},
		{"marks against Accept", typeJSON, "?marks=true", tinyScore, 406, "application/problem+json"},
		{"nonsense", "yes please", "", tinyScore, 406, "application/problem+json"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s.t = t
			header := []string{}
			if tt.accept != "" {
				header = []string{"Accept", tt.accept}
			}
			w := s.do(post("/v1/checks"+tt.query, tt.body, header...))
			got, _, _ := mime.ParseMediaType(w.Header().Get("Content-Type"))
			if w.Code != tt.status || got != tt.want {
				t.Fatalf("got %d %s, want %d %s", w.Code, got, tt.status, tt.want)
			}
			if tt.status == 200 && tt.want != typeJSON && tt.want != typeMixed {
				if isPacked := isContainer(w.Body.Bytes()); isPacked != (tt.want == typeContainer) {
					t.Errorf("the body is not what Content-Type says")
				}
			}
		})
	}
}

func TestBothAnswersInOneBody(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	w := s.do(post("/v1/checks", tinyScore, "Accept", typeMixed, "Content-Disposition", `attachment; filename="Evening hymn.xml"`))
	_, params, err := mime.ParseMediaType(w.Header().Get("Content-Type"))
	if err != nil {
		t.Fatal(err)
	}
	parts := multipart.NewReader(w.Body, params["boundary"])
	first, err := parts.NextPart()
	if err != nil {
		t.Fatal(err)
	}
	var report Report
	if err := json.NewDecoder(first).Decode(&report); err == nil && report.File != "Evening hymn.xml" {
		t.Errorf("the report is of file %q", report.File)
	} else if err != nil && first.Header.Get("Content-Type") != typeJSON {
		t.Errorf("the first part: %v", err)
	}
	second, err := parts.NextPart()
	if err != nil {
		t.Fatal(err)
	}
	score, _ := io.ReadAll(second)
	if want := tinyScore + "<!-- marked -->"; string(score) != want {
		t.Errorf("the second part is %q, want %q", score, want)
	}
	if got := second.FileName(); got != "Evening hymn.marked.musicxml" {
		t.Errorf("the score is called %q", got)
	}
	if _, err := parts.NextPart(); err != io.EOF {
		t.Errorf("after two parts: %v, want the end", err)
	}
}

func TestCleaning(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	w := s.do(post("/v1/cleanings", tinyScore))
	if w.Code != http.StatusOK || w.Body.String() != tinyScore {
		t.Errorf("got %d %q, want the score as it was", w.Code, w.Body)
	}
	if w := s.do(post("/v1/cleanings", tinyScore, "Accept", typeJSON)); w.Code != http.StatusNotAcceptable {
		t.Errorf("a cleaning as JSON: %d, want 406", w.Code)
	}
}
