package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// schoolService is the whole program as a school runs it, and the learning system that
// knows it.
type schoolService struct {
	testing.TB
	platform *ltitest.Platform
	// environment names the database; addr is where the service listens.
	environment []string
	addr        string
	// organization has the key, of a teacher and of the school's own system.
	organization, key string
	process           *exec.Cmd
}

// newSchoolService sets up an organization with a key and a learning system in a database.
func newSchoolService(t testing.TB, c store.Config) *schoolService {
	t.Helper()
	database := "PARTWRIGHT_DATA_DIR=" + c.Dir
	if c.URL != "" {
		database = "PARTWRIGHT_DATABASE_URL=" + c.URL
	}
	addr, err := freeAddress()
	if err != nil {
		t.Fatal(err)
	}
	s := &schoolService{TB: t, platform: ltitest.NewPlatform(t), addr: addr, environment: append(os.Environ(), database, "PARTWRIGHT_OPERATOR_ADDR=off")}
	s.platform.Knows("http://" + addr)
	organization := s.run("organizations", "create", "Evening school")
	s.organization = organization
	s.key = s.run("keys", "create", "--scopes", "classes,hand-ins,webhooks", organization)
	p := s.platform.Registration(organization)
	s.run("lti", "add", "--issuer", p.Issuer, "--client-id", p.ClientID, "--login-url", p.Authorization, "--token-url", p.Token, "--keys-url", p.Keys,
		"--deployment", s.platform.Deployment, organization)
	return s
}

// program is a command of the program under test: this test starts itself again.
func (s *schoolService) program(args ...string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Args, cmd.Env = append([]string{"partwright"}, args...), s.environment
	return cmd
}

func (s *schoolService) run(args ...string) string {
	s.Helper()
	out, err := s.program(args...).Output()
	if err != nil {
		s.Fatalf("partwright %s: %v", strings.Join(args, " "), err)
	}
	return strings.TrimSpace(string(out))
}

// serve starts the service and waits until it is ready.
func (s *schoolService) serve() {
	s.Helper()
	s.process = s.program("serve", "--accounts", "--addr", s.addr, "--lti-url", "http://"+s.addr, "--lti-plain", "--lti-allow", "127.0.0.0/8",
		"--webhook-plain", "--webhook-allow", "127.0.0.0/8")
	if err := s.process.Start(); err != nil {
		s.Fatal(err)
	}
	process := s.process
	s.Cleanup(func() { _ = process.Process.Kill(); _ = process.Wait() })
	for until := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		if w, err := http.Get("http://" + s.addr + "/readyz"); err == nil {
			_ = w.Body.Close()
			if w.StatusCode == http.StatusOK {
				return
			}
		}
		if time.Now().After(until) {
			s.Fatal("the service does not get ready")
		}
	}
}

// kill ends the service without warning.
func (s *schoolService) kill() {
	_ = s.process.Process.Kill()
	_ = s.process.Wait()
}

// try sends a request as whoever has a secret; the error is that nobody answered.
func (s *schoolService) try(secret, method, path, mediaType string, body []byte) (int, []byte, error) {
	r, err := http.NewRequestWithContext(s.Context(), method, "http://"+s.addr+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Authorization", "Bearer "+secret)
	if body != nil {
		r.Header.Set("Content-Type", mediaType)
	}
	w, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, nil, err
	}
	defer func() { _ = w.Body.Close() }()
	text, err := io.ReadAll(w.Body)
	return w.StatusCode, text, err
}

// ask sends JSON, or nothing where it is "", and reads JSON into a value, if that is not nil.
func (s *schoolService) ask(secret, method, path, text string, want int, into any) {
	s.Helper()
	var body []byte
	if text != "" {
		body = []byte(text)
	}
	code, got, err := s.try(secret, method, path, "application/json", body)
	if err != nil || code != want {
		s.Fatalf("%s %s: %d %.300s, %v", method, path, code, got, err)
	}
	if into != nil {
		if err := json.Unmarshal(got, into); err != nil {
			s.Fatal(err)
		}
	}
}

const musicXML = "application/vnd.recordare.musicxml+xml"

func (s *schoolService) handsIn(secret, address, reference string, score []byte) {
	s.Helper()
	code, got, err := s.try(secret, http.MethodPost, address+"/references/"+reference+"/hand-ins", musicXML, score)
	if err != nil || code != http.StatusCreated {
		s.Fatalf("%s: %d %.300s, %v", reference, code, got, err)
	}
}

// launch comes by a link to an assignment, as a browser does, and returns the secret and
// what the page is told.
func (s *schoolService) launch(subject, role, assignment string) (secret string, told struct{ View, Assignment, Reference string }) {
	s.Helper()
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	base := "http://" + s.addr
	w, err := client.PostForm(base+lti.LoginPath, url.Values{"iss": {s.platform.URL()}, "login_hint": {subject}, "target_link_uri": {base + "/"}})
	if err != nil {
		s.Fatal(err)
	}
	_ = w.Body.Close()
	asked, err := http.Get(w.Header.Get("Location"))
	if err != nil {
		s.Fatal(err)
	}
	_ = asked.Body.Close()
	login := s.platform.Request()
	claims := s.platform.Launch(login, base+"/", ltitest.Membership+role)
	claims["sub"] = subject
	claims[ltitest.Claim+"custom"] = map[string]any{"assignment": assignment}
	form := url.Values{"state": {login.Get("state")}, "id_token": {s.platform.Sign(claims)}}
	r, err := http.NewRequestWithContext(s.Context(), http.MethodPost, base+lti.LaunchPath, strings.NewReader(form.Encode()))
	if err != nil {
		s.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	for _, cookie := range w.Cookies() {
		r.AddCookie(cookie)
	}
	if w, err = client.Do(r); err != nil {
		s.Fatal(err)
	}
	_ = w.Body.Close()
	_, secret, found := strings.Cut(w.Header.Get("Location"), "#lti=")
	if !found {
		s.Fatalf("%s is answered %d", subject, w.StatusCode)
	}
	s.ask(secret, http.MethodGet, "/lti/launched", "", http.StatusOK, &told)
	return secret, told
}

// receiver takes webhooks and verifies them.
type receiver struct {
	mu     sync.Mutex
	secret string
	kinds  map[string]int
	wrong  []string
	seen   map[string]bool
}

func (v *receiver) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	v.mu.Lock()
	defer v.mu.Unlock()
	verifier, err := standardwebhooks.NewWebhook(v.secret)
	if err == nil {
		err = verifier.Verify(body, r.Header)
	}
	var m struct{ Type string }
	if err != nil || json.Unmarshal(body, &m) != nil {
		v.wrong = append(v.wrong, fmt.Sprint(err, " ", string(body)))
	} else if id := r.Header.Get("webhook-id"); !v.seen[id] {
		v.seen[id] = true
		v.kinds[m.Type]++
	}
	w.WriteHeader(http.StatusNoContent)
}

// quizAssignment is the body of the request that sets the quiz.
const quizAssignment = `{"title":"Second quiz","task":"` + classtest.Row + `","gives":"bass","models":3,"demands":["chords","inversions","cadence"],
	"points":20,"unmet":3,"closes":"%s","late":{"policy":"costs","points":1},"shows":"never"}`

// quiz prepares the same exercise here, for what the class hands in.
func quiz(t testing.TB) (*classroom.Assignment, map[string][]byte) {
	t.Helper()
	a := &classroom.Assignment{Title: "Second quiz", Demands: []classroom.Demand{classroom.Chords, classroom.Inversions, classroom.Cadence}}
	if err := classroom.Prepare(context.Background(), &worker.Engine{}, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass, Models: 3}); err != nil {
		t.Fatal(err)
	}
	scores, err := classtest.HandIns(a)
	if err != nil {
		t.Fatal(err)
	}
	return a, scores
}

// A class with a learning system, from the first command to the marks in its gradebook: an
// assignment from a row of chords, thirty pupils who come by its link and hand in what
// package classtest says (an empty score, a copy, a transposed copy, another piece, one that
// is late), decisions, a release, the report, webhooks. Every figure follows from what was
// written into the hand-ins by hand, as in testdata/script/class.txtar, which does the same in
// a folder.
func TestClassWithALearningSystem(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newSchoolService(t, c)
		s.serve()
		s.classGoesThrough()
	})
}

func (s *schoolService) classGoesThrough() {
	s.Helper()
	t := s.TB
	hooks := &receiver{kinds: map[string]int{}, seen: map[string]bool{}}
	server := httptest.NewServer(hooks)
	t.Cleanup(server.Close)
	var hook struct{ Secret string }
	s.ask(s.key, http.MethodPost, "/v1/webhooks", `{"url":"`+server.URL+`","events":["hand-in.marked","mark.released","mark.changed","mark.taken-back"]}`, http.StatusCreated, &hook)
	hooks.mu.Lock()
	hooks.secret = hook.Secret
	hooks.mu.Unlock()

	closes := time.Now().Add(-time.Hour).UTC().Truncate(time.Second)
	var set struct{ ID string }
	teacher, told := s.launch("teacher-1", "Instructor", "")
	if told.View != "classes" || told.Assignment != "" {
		t.Errorf("the teacher opens %+v", told)
	}
	s.ask(teacher, http.MethodPost, "/v1/assignments", fmt.Sprintf(quizAssignment, closes.Format(time.RFC3339)), http.StatusCreated, &set)
	address := "/v1/assignments/" + set.ID
	local, scores := quiz(t)
	if _, sheet, err := s.try(teacher, http.MethodGet, address+"/exercise", "", nil); err != nil || string(sheet) != local.Exercise.Text {
		t.Fatalf("the sheet: %d bytes, %v", len(sheet), err)
	}
	teacher, told = s.launch("teacher-1", "Instructor", set.ID)
	if told.View != "class" || told.Assignment != set.ID {
		t.Errorf("the teacher opens %+v", told)
	}
	s.ask(s.key, http.MethodGet, address, "", http.StatusNotFound, nil) // it is not this teacher's
	decide := func(text string) {
		t.Helper()
		s.ask(teacher, http.MethodPost, address+"/decisions", text, http.StatusCreated, nil)
	}

	// The class has a day more, p29 has not.
	of := map[string]string{}
	decide(`{"do":"extend","until":"` + closes.Add(24*time.Hour).Format(time.RFC3339) + `"}`)
	for n := 1; n <= 30; n++ {
		name := fmt.Sprintf("p%02d", n)
		secret, told := s.launch("pupil-"+name, "Learner", set.ID)
		of[name] = told.Reference
		if name == "p29" {
			decide(`{"do":"extend","reference":"` + of[name] + `","until":"` + closes.Format(time.RFC3339) + `"}`)
		}
		s.handsIn(secret, address, told.Reference, scores[name])
	}
	again, _ := s.launch("pupil-p30", "Learner", set.ID)
	s.handsIn(again, address, of["p30"], scores["p30@2"])

	marks := s.classReport(teacher, address, of)
	// 20 without a fault, 19.5 with one, 19 with octaves (and those by contrary motion), 18 with
	// both, and one point off for the day that p29 is late.
	want := map[string]string{"p18": "20", "p20": "18", "p21": "19", "p22": "19", "p29": "19", "p30": "19"}
	for names, mark := range map[string]string{
		"p01 p02 p03": "20", "p04 p05 p06 p07 p08 p12 p13 p14 p15 p16 p17 p19": "19.5", "p09 p10 p11": "19", "p23 p24 p25 p26 p27 p28": "–",
	} {
		for _, name := range strings.Fields(names) {
			want[name] = mark
		}
	}
	for name, mark := range want {
		if marks[name] != mark {
			t.Errorf("%s: %s proposed, want %s", name, marks[name], mark)
		}
	}

	decide(`{"do":"waive","reference":"` + of["p04"] + `","number":3,"text":"the exercise wants it so"}`)
	decide(`{"do":"set-mark","reference":"` + of["p27"] + `","mark":12.5,"text":"three measures of four"}`)
	decide(`{"do":"set-mark","reference":"` + of["p24"] + `","mark":0}`)
	decide(`{"do":"release"}`)
	decide(`{"do":"take-back","reference":"` + of["p05"] + `"}`)
	want["p04"], want["p27"], want["p24"] = "20", "12.5", "0"
	s.gradebookHas(want)
	s.reportIs(teacher, address, of)

	hooks.await(t, map[string]int{"hand-in.marked": 31, "mark.released": 26, "mark.taken-back": 1})
}

// classReport returns the marks that count, by the names of the hand-ins.
func (s *schoolService) classReport(teacher, address string, of map[string]string) map[string]string {
	s.Helper()
	var list struct {
		Outcomes []struct {
			Reference string
			Mark      *float64
			Released  bool
		}
	}
	s.ask(teacher, http.MethodGet, address+"/marks", "", http.StatusOK, &list)
	marks := map[string]string{}
	for _, o := range list.Outcomes {
		for name, reference := range of {
			if reference == o.Reference {
				marks[name] = "–"
				if o.Mark != nil {
					marks[name] = fmt.Sprint(*o.Mark)
				}
			}
		}
		if o.Released {
			s.Errorf("%s is released", o.Reference)
		}
	}
	if len(list.Outcomes) != 30 || len(marks) != 30 {
		s.Errorf("%d marks of %d pupils", len(list.Outcomes), len(marks))
	}
	return marks
}

// gradebookHas waits until every mark is in the gradebook once: pending when it was handed
// in, whole where it was released, p05 pending again.
func (s *schoolService) gradebookHas(marks map[string]string) {
	s.Helper()
	const pending, whole = 30 + 1, 26
	for until := time.Now().Add(time.Minute); len(s.platform.Scores()) < pending+whole-1 && time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
	}
	time.Sleep(300 * time.Millisecond) // what would come twice
	last, graded := map[string]string{}, map[string]int{}
	for _, one := range s.platform.Scores() {
		name := strings.TrimPrefix(one.Pupil, "pupil-")
		last[name] = "–"
		if one.Given != nil {
			last[name] = fmt.Sprint(*one.Given)
			graded[name]++
		}
		if one.Given != nil && *one.Maximum != 20 {
			s.Errorf("%s has a mark of %g", name, *one.Maximum)
		}
	}
	for name, mark := range marks {
		if name == "p05" {
			mark = "–"
		}
		if last[name] != mark || graded[name] > 1 || (mark != "–") != (graded[name] == 1) && name != "p05" {
			s.Errorf("the gradebook has %s of %s, %d times, want %s", last[name], name, graded[name], mark)
		}
	}
	if _, repeats := s.platform.Posts(); len(last) != 30 || repeats != 0 {
		s.Errorf("the gradebook has %d pupils, %d scores came twice", len(last), repeats)
	}
}

// reportIs holds the report of the class to what was written into the hand-ins.
func (s *schoolService) reportIs(teacher, address string, of map[string]string) {
	s.Helper()
	var r classroom.Report
	s.ask(teacher, http.MethodGet, address+"/report", "", http.StatusOK, &r)
	// 24 proposals came to 465; p04 has half a point more, p27 12.5 and p24 0.
	if r.HandedIn != 30 || r.Marks.Count != 26 || math.Abs(r.Marks.Mean-478.0/26) > 1e-9 || r.Marks.Least.String() != "0" || r.Marks.Most.String() != "20" {
		s.Errorf("%d handed in, marks %+v", r.HandedIn, r.Marks)
	}
	for state, n := range map[classroom.State]int{
		classroom.Whole: 24, classroom.TransposedIn: 1, classroom.Empty: 1, classroom.ItselfBack: 1, classroom.WrongScore: 1, classroom.Unfinished: 1, classroom.GivenChanged: 1,
	} {
		if r.States[state] != n {
			s.Errorf("%d are %s, want %d", r.States[state], state, n)
		}
	}
	counts := map[string]int{}
	for _, rule := range r.Rules {
		counts[rule.Rule] = len(rule.Pupils)
	}
	if counts["parallel-fifths"] != 8 || counts["parallel-octaves"] != 8 || counts["demand-chord"]+counts["demand-chords"] != 5 {
		s.Errorf("rules: %v", counts)
	}
	copied, transposed := false, false
	for _, l := range r.Alike {
		pair := []string{l.References[0], l.References[1]}
		copied = copied || slices.Contains(pair, of["p21"]) && slices.Contains(pair, of["p22"]) && l.Alike == 1
		transposed = transposed || slices.Contains(pair, of["p23"]) && (l.Transposed == 2 || l.Transposed == -2)
	}
	if !copied || !transposed {
		s.Errorf("alike: %+v", r.Alike)
	}
	late := 0
	for i := range r.HandIns {
		if r.HandIns[i].Late > 0 {
			late++
		}
	}
	if late != 1 {
		s.Errorf("%d are late", late)
	}
}

// await waits until so many events came, each verified, and no others.
func (v *receiver) await(t testing.TB, want map[string]int) {
	t.Helper()
	same := func() bool {
		v.mu.Lock()
		defer v.mu.Unlock()
		return fmt.Sprint(v.kinds) == fmt.Sprint(want)
	}
	for until := time.Now().Add(time.Minute); !same() && time.Now().Before(until); time.Sleep(20 * time.Millisecond) {
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if fmt.Sprint(v.kinds) != fmt.Sprint(want) || len(v.wrong) > 0 {
		t.Errorf("told %v, want %v; not verified: %q", v.kinds, want, v.wrong)
	}
}
