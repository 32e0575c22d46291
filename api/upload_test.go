package api

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"strings"
	"testing"

	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// field is one part of a form; a file has a name.
type field struct{ name, file, value string }

func form(t testing.TB, path string, fields ...field) *http.Request {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	for _, f := range fields {
		disposition := fmt.Sprintf("form-data; name=%q", f.name)
		if f.file != "" {
			disposition += fmt.Sprintf("; filename=%q", f.file)
		}
		part, err := w.CreatePart(textproto.MIMEHeader{"Content-Disposition": {disposition}})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(part, f.value); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, path, &body)
	r.Header.Set("Content-Type", w.FormDataContentType())
	return r
}

func TestForm(t *testing.T) {
	score := field{"score", "hymn.musicxml", tinyScore}
	many := []field{score}
	for range maxParts {
		many = append(many, field{"rule_set", "", "strict-chorale"})
	}
	for _, tt := range []struct {
		name   string
		fields []field
		kind   *kind // nil for success
	}{
		{"a score", []field{score}, nil},
		{"options before the score", []field{{"rule_set", "", "strict-chorale"}, {"language", "", "en"}, score}, nil},
		{"options after the score", []field{score, {"marks", "", "false"}}, nil},
		{"a score without a file name", []field{{"score", "", tinyScore}}, nil},
		{"nothing", nil, missingScore},
		{"no score", []field{{"language", "", "en"}}, missingScore},
		{"two scores", []field{score, score}, missingScore},
		{"an unknown field", []field{score, {"ruleset", "", "strict-chorale"}}, invalidRequest},
		{"a field twice", []field{{"language", "", "en"}, {"language", "", "en"}, score}, invalidRequest},
		{"a long field", []field{{"language", "", strings.Repeat("e", maxFieldBytes+1)}, score}, invalidRequest},
		{"marks that are neither", []field{score, {"marks", "", "yes"}}, invalidRequest},
		{"ways to mend", []field{score, {"fixes", "", "2"}}, nil},
		{"too many ways to mend", []field{score, {"fixes", "", "6"}}, invalidRequest},
		{"ways that are no number", []field{score, {"fixes", "", "all"}}, invalidRequest},
		{"a rule set of one's own", []field{score, {"own_rule_set", "mine.yaml", "name: mine\n"}}, nil},
		{"one's own and a named one", []field{score, {"own_rule_set", "mine.yaml", "name: mine\n"}, {"rule_set", "", "free"}}, invalidRequest},
		{"a rule set that is none", []field{score, {"own_rule_set", "mine.yaml", "name: mine\nrules: {no-such-rule: off}\n"}}, unreadableRuleSet},
		{"an unknown rule set", []field{score, {"rule_set", "", "no-such-set"}}, unknownRuleSet},
		{"an unknown language", []field{score, {"language", "", "tlh"}}, unknownLanguage},
		{"a score past the limit", []field{{"score", "x.xml", strings.Repeat("x", 5000)}}, uploadTooLarge},
		{"very many parts", many[:maxParts+1], invalidRequest},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var got worker.Input
			s := newService(t, &fakePool{submit: func(_ context.Context, in worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
				got = in
				return emptyResult(in), nil
			}}, Config{MaxUpload: 4000})
			w := s.do(form(t, "/v1/checks", tt.fields...))
			if tt.kind == nil {
				if w.Code != http.StatusOK || string(got.Data) != tinyScore {
					t.Errorf("got %d, the worker got %q", w.Code, got.Data)
				}
			} else if p := s.problem(w); p.Type != tt.kind.uri() {
				t.Errorf("got %s (%s), want %s", p.Type, p.Detail, tt.kind.uri())
			}
			if left := s.server.handlers.memory.claimed.Load(); left != 0 {
				t.Errorf("%d bytes are still counted after the answer", left)
			}
		})
	}
}

func TestFormThatBreaksOff(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	whole := form(t, "/v1/checks", field{"score", "hymn.musicxml", tinyScore})
	body, _ := io.ReadAll(whole.Body)
	for _, cut := range []int{0, 1, 30, len(body) / 2, len(body) - 5} {
		r := httptest.NewRequest(http.MethodPost, "/v1/checks", bytes.NewReader(body[:cut]))
		r.Header = whole.Header
		// mime/multipart takes an end among the headers of a part for the end of
		// the form; there is no score yet then.
		if p := s.problem(s.do(r)); p.Type != malformedForm.uri() && p.Type != missingScore.uri() {
			t.Errorf("cut at %d: %s: half a score must not be checked", cut, p.Type)
		}
	}
	r := form(t, "/v1/checks")
	r.Header.Set("Content-Type", "multipart/form-data")
	if p := s.problem(s.do(r)); p.Type != malformedForm.uri() {
		t.Errorf("without a boundary: %s", p.Type)
	}
}

func TestFormFieldsWinOverTheQuery(t *testing.T) {
	var got *request.CheckPlan
	s := newService(t, &fakePool{submit: func(_ context.Context, in worker.Input, o *request.CheckPlan) (*answer.Answer, error) {
		got = o
		return emptyResult(in), nil
	}}, Config{})
	s.do(form(t, "/v1/checks?language=en&marks=false", field{"language", "", "de"}, field{"score", "x.xml", tinyScore}, field{"marks", "", "true"}))
	if german, _ := partwriting.CatalogFor("de"); got.Catalog != german || !got.Marks {
		t.Errorf("the worker was asked for %+v", got)
	}
}

func TestFileNames(t *testing.T) {
	long := strings.Repeat("w", 300)
	for _, tt := range []struct{ name, want, why string }{
		{"hymn.musicxml", "hymn.musicxml", "plain"},
		{"../../planted.musicxml", "planted.musicxml", "a path is dropped"},
		{`C:\Users\someone\hymn.xml`, "hymn.xml", "so is one of Windows"},
		{"a\tb\n.musicxml", "a b .musicxml", "control characters"},
		{"évening 🎹.mxl", "évening 🎹.mxl", "letters of the world"},
		{"fdp.\u202Elmx.musicxml", "fdp.lmx.musicxml", "direction overrides disguise a suffix"},
		{long + ".musicxml", long[:maxFileName-9] + ".musicxml", "the suffix survives"},
		{"..", "", "no name"},
		{"\xff\xfe.xml", "\uFFFD.xml", "not UTF-8"},
		{"", "", "empty"},
	} {
		if got := cleanFileName(tt.name); got != tt.want {
			t.Errorf("%s: %q became %q, want %q", tt.why, tt.name, got, tt.want)
		}
	}
}

// RFC 6266, section 5, gives these examples.
func TestNameInContentDisposition(t *testing.T) {
	for header, want := range map[string]string{ // "" also where we prefer not to guess
		`Attachment; filename=example.html`:               "example.html",
		`INLINE; FILENAME= "an example.html"`:             "an example.html",
		`attachment; filename*= UTF-8''%e2%82%ac%20rates`: "€ rates",
		`attachment`: "",
		`;;;`:        "",
	} {
		if got := nameIn(header); got != want {
			t.Errorf("%s: %q, want %q", header, got, want)
		}
	}
}

func TestAttachmentNames(t *testing.T) {
	for _, tt := range []struct{ name, mediaType, want string }{
		{"Hymn.xml", typeMusicXML, `attachment; filename=Hymn.marked.musicxml`},
		{"Hymn.MXL", typeContainer, `attachment; filename=Hymn.marked.mxl`},
		{"a b.musicxml", typeMusicXML, `attachment; filename="a b.marked.musicxml"`},
		{"", typeMusicXML, `attachment; filename=score.marked.musicxml`},
		{"Lied é.xml", typeMusicXML, `attachment; filename*=utf-8''Lied%20%C3%A9.marked.musicxml`},
		{`x"; filename="y.xml`, typeMusicXML, `attachment; filename="x\"; filename=\"y.marked.musicxml"`},
	} {
		if got := attachment(tt.name, ".marked", tt.mediaType); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
}

func FuzzFileName(f *testing.F) {
	for _, s := range []string{"a.xml", "../x", "\x00", "ab.éééé", strings.Repeat("é", 200) + ".xml"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		got := cleanFileName(name)
		if len(got) > maxFileName || strings.ContainsAny(got, "/\\\x00\n\r\t") || cleanFileName(got) != got {
			t.Errorf("%q became %q, then %q", name, got, cleanFileName(got))
		}
		disposition := attachment(got, ".marked", typeMusicXML)
		if strings.ContainsAny(disposition, "\r\n") || disposition == "" {
			t.Errorf("%q gives the header %q", name, disposition)
		}
	})
}

func TestUploadMemoryIsBounded(t *testing.T) {
	held, release := make(chan struct{}, 8), make(chan struct{})
	s := newService(t, &fakePool{submit: func(_ context.Context, in worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
		held <- struct{}{}
		<-release
		return emptyResult(in), nil
	}}, Config{MaxUpload: 1 << 20, UploadMemory: 1 << 20})
	body := strings.Repeat("x", 600<<10)
	done := make(chan int)
	go func() {
		w := httptest.NewRecorder()
		s.server.Handler().ServeHTTP(w, post("/v1/checks", body))
		done <- w.Code
	}()
	<-held
	w := s.do(post("/v1/checks", body))
	if p := s.problem(w); p.Type != busy.uri() || w.Header().Get("Retry-After") == "" {
		t.Errorf("the second of two uploads of 600 kB within 1 MB: %d %s", w.Code, p.Type)
	}
	close(release)
	if code := <-done; code != http.StatusOK {
		t.Errorf("the first got %d", code)
	}
	if w := s.do(post("/v1/checks", body)); w.Code != http.StatusOK {
		t.Errorf("after the first was answered: %d", w.Code)
	}
}
