package worst

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"syscall"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/request"
)

var (
	search     = flag.Duration("search", 2*time.Second, "how long to look for requests that take more time or memory than any before")
	searchKeep = flag.String("search-keep", "", "the folder that keeps what -search found worst")
	searchSeed = flag.Uint64("search-seed", 1, "the seed of -search")
)

// A gene says how a request is made. All of it can be written down, so that what was
// found can be made again.
type gene struct {
	Job    request.Job
	Said   map[string]string
	Bytes  int
	Parts  int
	Each   int
	Before string
	// Pieces are what the measures are made of, in an order that A, B and C give.
	Pieces  []string
	A, B, C int
	// Field and Words are a text beside the score, of so many bytes of its words.
	Field string
	Words []string
}

// score is the document.
func (g *gene) score() []byte {
	var b strings.Builder
	b.WriteString(head(g.Parts))
	for p := range g.Parts {
		fmt.Fprintf(&b, `<part id="P%d">`, p)
		end := g.Bytes * (p + 1) / g.Parts
		for m, at := 0, 0; m == 0 || b.Len() < end; m++ {
			fmt.Fprintf(&b, `<measure number="%d">`, m+1)
			if m == 0 {
				b.WriteString(g.Before)
			}
			for n := 0; n < g.Each && b.Len() < end; n++ {
				piece := g.Pieces[(at*at*g.A+at*g.B+p*g.C)%len(g.Pieces)]
				fmt.Fprintf(&b, piece, "CDEFGAB"[(at*at/3+at*g.B+p*4)%7], 2+(g.Parts-p)*3/g.Parts+(at+p)%2, at%97)
				at++
			}
			b.WriteString(`</measure>`)
		}
		b.WriteString(`</part>`)
	}
	b.WriteString(`</score-partwise>`)
	return []byte(b.String())
}

// text is what stands beside it.
func (g *gene) text(size int) string {
	var b strings.Builder
	for i := 0; b.Len() < size; i++ {
		b.WriteString(g.Words[(i*i*g.A+i*g.B)%len(g.Words)])
	}
	return b.String()
}

func (g *gene) asCase() Case {
	c := Case{Name: "searched", Job: g.Job, Said: g.Said, Field: g.Field}
	if g.Job != request.JobContinue && g.Field != "progression" {
		c.Score = func(int) []byte { return g.score() }
	}
	if g.Field != "" {
		c.Text = g.text
	}
	return c
}

// pieces of a document. Each is a format with a step, an octave and a number.
var searchPieces = func() (all []string) {
	for _, extra := range []string{"", "<chord/>", "<grace/>", "<cue/>"} {
		for _, duration := range []string{"1", "16", "64", "256", "100000", "7"} {
			for _, rest := range []string{"", "<voice>%[3]d</voice>", "<voice>2</voice>", `<tie type="start"/>`, `<tie type="stop"/><tie type="start"/>`, "<staff>2</staff>"} {
				d := "<duration>" + duration + "</duration>"
				if extra == "<grace/>" {
					d = ""
				}
				all = append(all, `<note>`+extra+`<pitch><step>%[1]c</step><octave>%[2]d</octave></pitch>`+d+rest+`</note>`)
			}
		}
	}
	for _, mode := range []string{"<alter>1</alter>", "<alter>-1</alter>", "<alter>2</alter>", "<alter>0.5</alter>"} {
		all = append(all, `<note><pitch><step>%[1]c</step>`+mode+`<octave>%[2]d</octave></pitch><duration>64</duration><voice>1</voice></note>`)
	}
	all = append(all, []string{
		`<note><rest/><duration>64</duration></note>`, `<note><unpitched/><duration>16</duration></note>`,
		`<backup><duration>64</duration></backup>`, `<backup><duration>255</duration></backup>`, `<backup><duration>1</duration></backup>`,
		`<forward><duration>64</duration></forward>`, `<forward><duration>1</duration><voice>%[3]d</voice></forward>`,
		`</measure><measure number="%[3]d">`, `</measure><measure number="1">`, `</measure><measure number="X%[3]d" implicit="yes">`,
		`<attributes><key><fifths>%[2]d</fifths></key></attributes>`, `<attributes><divisions>%[3]d1</divisions></attributes>`,
		`<attributes><time><beats>%[2]d</beats><beat-type>4</beat-type></time></attributes>`, `<attributes><time><beats>3+2+%[3]d</beats><beat-type>8</beat-type></time></attributes>`,
		`<attributes><transpose><chromatic>-2</chromatic></transpose></attributes>`, `<attributes><staves>2</staves></attributes>`,
		`<attributes><clef number="2"><sign>F</sign><line>4</line></clef></attributes>`,
		`<harmony><root><root-step>%[1]c</root-step></root><kind>dominant</kind></harmony>`, `<harmony><numeral><numeral-root>5</numeral-root></numeral><kind>major</kind></harmony>`,
		`<figured-bass><figure><figure-number>6</figure-number></figure><figure><figure-number>%[2]d</figure-number></figure></figured-bass>`,
		`<direction><direction-type><words>cresc. %[3]d</words></direction-type></direction>`, `<direction><direction-type><segno/></direction-type><sound segno="%[3]d"/></direction>`,
		`<direction><sound dalsegno="%[3]d"/></direction>`, `<direction><sound dacapo="yes"/></direction>`, `<direction><sound fine="yes"/></direction>`, `<direction><sound tocoda="%[3]d"/></direction>`, `<direction><sound coda="%[3]d"/></direction>`,
		`<barline location="left"><repeat direction="forward"/></barline>`, `<barline location="right"><repeat direction="backward" times="9"/></barline>`,
		`<barline location="left"><ending number="1" type="start"/></barline>`, `<barline location="right"><ending number="1,2,3" type="stop"/></barline>`, `<barline location="left"><ending number="%[3]d" type="start"/></barline>`,
		`<note><pitch><step>%[1]c</step><octave>%[2]d</octave></pitch><duration>64</duration><notations><slur type="start" number="%[2]d"/><fermata/></notations></note>`,
		`<note><pitch><step>%[1]c</step><octave>%[2]d</octave></pitch><duration>64</duration><lyric><text>a&#233;&amp;%[3]d</text></lyric></note>`,
		`<note color="#B02318"><pitch><step>%[1]c</step><octave>%[2]d</octave></pitch><duration>16</duration><time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification></note>`,
		`<direction placement="above"><direction-type><words color="#B02318">[%[3]d=]</words></direction-type></direction>`,
		`<!-- %[3]d -->`, `<?x %[3]d?>`, `<x%[3]d a="1" b="2"/>`, `<![CDATA[%[3]d]]>`, "\n\n\n", `<print new-page="yes"/>`,
	}...)
	return all
}()

// words of the texts, for each field.
var searchWords = map[string][]string{
	"own_rule_set": {"name: x\n", "rules:\n", "  parallel-fifths: off\n", "- ", "[", "]", "{", "}", "&a ", "*a ", "? ", ": ", "\n", "  ", "\t", "|\n", ">\n", "'", "\"", "!!x ", "# ", "---\n", "based-on: free\n", "a", "<<: ", "\\", "é", "- - ", "{a: ", ", "},
	"labels":       {"m1 ", "m2-3 = m1\n", "C: ", "I ", "V7 ", "b2 ", "b1.5 ", "||\n", "\n", "m%d ", "Composer: x\n", "Note: y\n", "viio7/V ", "[no3]", "var1 ", "Pedal: C m1 m9\n", "Form: a\n", "b", "#", "/", "(", "Time Signature: 4/4\n", "m1-999999 = m1-2\n", "."},
	"progression":  {"C: ", "I ", "V7 ", "V7/V ", "viio43/", "#", "b", "[add4]", "N6 ", "Ger65 ", "cad64 ", "| ", "\n", "(", ")", "/", "7", "g: ", "ii", "x", "{", "| "},
}

func init() {
	for _, f := range []string{"own_rubric", "accepted"} {
		searchWords[f] = append([]string{"3: [spacing]\n", "grades:\n", "- 1\n", "weights: ", "9: "}, searchWords["own_rule_set"]...)
	}
}

// asked are choices of options of each job.
var asked = map[request.Job][][2]string{
	request.JobCheck: {
		{"analysis", "true"}, {"fixes", "5"}, {"fixes", "2"}, {"rule_set", "free"}, {"rule_set", "keyboard"}, {"rule_set", "strict-chorale"}, {"marks", "true"}, {"annotate", "numerals,figures,symbols"}, {"voices", "true"}, {"notes", "true"}, {"ids", "true"}, {"upgrade", "true"}, {"given", "replace"}, {"language", "de"}, {"rubric", "hundred"},
	},
	request.JobMend:  {{"all", "true"}, {"severity", "remark"}, {"severity", "caution"}, {"alternatives", "5"}, {"both", "true"}, {"keep", "S"}, {"keep_measures", "1,2"}, {"rule_set", "free"}, {"only", "parallel-fifths"}},
	request.JobVoice: {{"style", "five-voices"}, {"style", "keyboard"}, {"bass", "free"}, {"alternatives", "20"}, {"compare", "true"}, {"density", "1"}, {"levels", "6"}, {"gives", "bass"}, {"gives", "melody"}, {"gives", "chords"}, {"contour", "arch"}, {"ending", "authentic"}},
	request.JobContinue: {
		{"from", "G5 E5 C5 G4 C3"}, {"chords", "C: I V"}, {"style", "five-voices"}, {"best", "50"}, {"then", "I ii iii IV V vi viio6 V7 I6"}, {"chords", "C: I V7 vi ii65"},
	},
	request.JobClean: {},
}

func pick[T any](r *rand.Rand, all []T) T { return all[r.IntN(len(all))] }

var searchJobs = []request.Job{request.JobCheck, request.JobCheck, request.JobCheck, request.JobMend, request.JobVoice, request.JobContinue, request.JobClean}

func fresh(r *rand.Rand) *gene {
	g := &gene{
		Job: pick(r, searchJobs), Said: map[string]string{}, Bytes: 1 << (14 + r.IntN(7)), Parts: 1 + r.IntN(8), Each: 1 << r.IntN(9), A: r.IntN(5), B: 1 + r.IntN(9), C: r.IntN(4),
		Before: `<attributes><divisions>64</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`,
	}
	for range 1 + r.IntN(4) {
		g.Pieces = append(g.Pieces, pick(r, searchPieces))
	}
	if r.IntN(4) == 0 {
		var fields []string
		switch g.Job {
		case request.JobCheck:
			fields = []string{"own_rule_set", "own_rubric", "accepted", "labels"}
		case request.JobVoice:
			fields = []string{"progression"}
		default:
			fields = []string{"own_rule_set"}
		}
		g.Field = pick(r, fields)
		g.words(r)
	}
	for range r.IntN(4) {
		g.ask(r)
	}
	return g
}

func (g *gene) words(r *rand.Rand) {
	g.Words = nil
	for range 1 + r.IntN(4) {
		g.Words = append(g.Words, pick(r, searchWords[g.Field]))
	}
}

func (g *gene) ask(r *rand.Rand) {
	if all := asked[g.Job]; len(all) > 0 {
		a := pick(r, all)
		g.Said[a[0]] = a[1]
	}
}

// changed is a copy with one to three changes.
func (g *gene) changed(r *rand.Rand) *gene {
	var n gene
	text, _ := json.Marshal(g)
	_ = json.Unmarshal(text, &n)
	for range 1 + r.IntN(3) {
		switch r.IntN(11) {
		case 0:
			n.Bytes = min(max(n.Bytes<<1>>(2*r.IntN(2)), 1<<12), 1<<21)
		case 1:
			n.Parts = min(max(n.Parts+r.IntN(9)-4, 1), 64)
		case 2:
			n.Each = min(max(n.Each<<1>>(2*r.IntN(2)), 1), 1<<16)
		case 3:
			n.A, n.B, n.C = r.IntN(7), 1+r.IntN(11), r.IntN(5)
		case 4, 5:
			n.Pieces[r.IntN(len(n.Pieces))] = pick(r, searchPieces)
		case 6:
			n.Pieces = append(n.Pieces, pick(r, searchPieces))
		case 7:
			if len(n.Pieces) > 1 {
				n.Pieces = n.Pieces[1:]
			}
		case 8:
			n.ask(r)
		case 9:
			clear(n.Said)
		case 10:
			if n.Field != "" {
				n.Words = append(n.Words[:r.IntN(len(n.Words))], pick(r, searchWords[n.Field]))
			}
		}
	}
	return &n
}

// cost is what one request took: processor time before its work could be stopped
// (reading its text), and after it was to be; and the most memory at once.
type cost struct {
	Parsing, Late time.Duration
	Memory        uint64
	Err           string
}

func processor() time.Duration {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano())
}

const liveBytes = "/memory/classes/heap/objects:bytes"

func live() uint64 {
	s := []metrics.Sample{{Name: liveBytes}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// run does what a gene asks for, and measures it.
func (g *gene) run(t *testing.T, deadline time.Duration) (c cost) {
	runtime.GC()
	before := live()
	done, peak := make(chan struct{}), make(chan uint64)
	go func() {
		most := uint64(0)
		for {
			select {
			case <-done:
				peak <- max(most, live())
				return
			case <-time.After(2 * time.Millisecond):
				most = max(most, live())
			}
		}
	}()
	one := g.asCase()
	if one.Score != nil {
		data := g.score()
		one.Score = func(int) []byte { return data }
	}
	began := processor()
	plan, in, err := one.bind(g.Bytes)
	c.Parsing = processor() - began
	if err == nil {
		ctx, cancel := context.WithTimeout(t.Context(), deadline)
		late := make(chan time.Duration, 1)
		context.AfterFunc(ctx, func() { late <- processor() })
		_, err = (&worker.Engine{Memory: 192 << 20}).Do(ctx, in, plan)
		end := processor()
		cancel()
		c.Late = max(end-<-late, 0)
	}
	close(done)
	if most := <-peak; most > before {
		c.Memory = most - before
	}
	if !known(err) {
		t.Errorf("%v: %s", err, g.written())
	}
	if err != nil {
		c.Err = fmt.Sprintf("%.120v", err)
	}
	return c
}

func (g *gene) written() string {
	text, _ := json.Marshal(g)
	return string(text)
}

// TestSearchForWorse looks for as long as -search says for requests that take more time
// past their deadline, more time to read, or more memory, than all before it: from the
// worst of each kind and way in so far it goes on with small changes.
func TestSearchForWorse(t *testing.T) {
	if testing.Short() && *search < time.Minute {
		t.Skip("a search takes time")
	}
	debug.SetGCPercent(50)
	r := rand.New(rand.NewPCG(*searchSeed, 2)) //nolint:gosec // a search
	type kept struct {
		gene  *gene
		value float64
	}
	worst := map[string]kept{}
	const deadline = 200 * time.Millisecond
	tried := 0
	for began := time.Now(); time.Since(began) < *search; tried++ {
		g := fresh(r)
		if len(worst) > 0 && r.IntN(4) > 0 {
			var names []string
			for name := range worst {
				names = append(names, name)
			}
			g = worst[pick(r, names)].gene.changed(r)
		}
		c := g.run(t, deadline)
		for what, value := range map[string]float64{
			"late":             c.Late.Seconds(),
			"parsing":          c.Parsing.Seconds(),
			"memory":           float64(c.Memory >> 20),
			"memory per byte":  float64(c.Memory>>20) / float64(g.Bytes>>10) / 1.024 * 1000,
			"parsing per byte": c.Parsing.Seconds() / float64(g.Bytes>>10) * 1000,
		} {
			name := fmt.Sprintf("%s, %s %s", what, g.Job, g.Field)
			if value <= worst[name].value*1.1 {
				continue
			}
			if value <= 0 {
				continue
			}
			// Once more, since other programs may have taken the time.
			if what == "late" || what == "parsing" {
				again := g.run(t, deadline)
				value = min(value, map[string]float64{"late": again.Late.Seconds(), "parsing": again.Parsing.Seconds()}[what])
			}
			if value <= worst[name].value*1.1 {
				continue
			}
			worst[name] = kept{g, value}
			if *searchKeep != "" {
				line := fmt.Sprintf("%s\t%d\t%s\t%.3f\t%s\t%s\n", time.Since(began).Round(time.Second), tried, name, value, c.Err, g.written())
				f, err := os.OpenFile(filepath.Join(*searchKeep, fmt.Sprintf("found-%d.tsv", *searchSeed)), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
				if err != nil {
					t.Fatal(err)
				}
				_, _ = f.WriteString(line)
				_ = f.Close()
			}
		}
	}
	for name, k := range worst {
		t.Logf("%-40s %.3f", name, k.value)
	}
	t.Logf("%d requests tried", tried)
}
