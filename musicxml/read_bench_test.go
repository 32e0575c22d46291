package musicxml

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"strings"
	"testing"
	"time"

	"github.com/beevik/etree"

	"partwright/musicxml/container"
)

// exercises is a score of four voices in open score with n measures, laid out
// and indented as notation programs do.
func exercises(parts, n int) []byte {
	c := composition{header: "<work><work-title>Evening exercise in G</work-title></work>\n"}
	lines := [][]string{
		{"B4", "A4", "G4", "F#4"}, {"G4", "F#4", "D4", "D4"}, {"D4", "D4", "B3", "A3"}, {"G3", "D3", "G3", "D3"},
	}
	for p := range parts {
		part := voicePart{id: fmt.Sprintf("P%d", p+1)}
		line := lines[p%len(lines)]
		for i := range n {
			var b strings.Builder
			if i == 0 {
				b.WriteString(attributes(divisions(4), key(1), metre("4", "4")))
			}
			for beat := range 4 {
				fmt.Fprintf(&b, "      <note default-x=\"%d.25\" default-y=\"-15\">\n        %s\n        <duration>4</duration>\n"+
					"        <voice>1</voice>\n        <type>quarter</type>\n        <stem>up</stem>\n      </note>\n",
					40+60*beat, pitchText(line[(i+beat)%4]))
			}
			part.measures = append(part.measures, barText{fmt.Sprintf(`number="%d" width="%d.5"`, i+1, 200+i%50), b.String()})
		}
		c.parts = append(c.parts, part)
	}
	return c.partwise()
}

// unpacked returns the score texts of a corpus folder of containers.
func unpacked(b *testing.B, folder string, most int) (texts [][]byte, size int64) {
	b.Helper()
	paths, err := filepath.Glob(filepath.Join(corpus(b, folder), "*.mxl"))
	if err != nil || len(paths) == 0 {
		b.Fatalf("no scores in %s: %v", folder, err)
	}
	for _, path := range paths[:min(most, len(paths))] {
		data, err := os.ReadFile(path)
		if err != nil {
			b.Fatal(err)
		}
		c, err := container.Open(data, container.Limits{})
		if err != nil {
			b.Fatal(err)
		}
		texts = append(texts, c.Score)
		size += int64(len(c.Score))
	}
	return texts, size
}

// BenchmarkRead compares reading into the score model, its second half alone,
// and what etree needs to read the same bytes into its tree.
func BenchmarkRead(b *testing.B) {
	long := exercises(4, 400)
	short := exercises(4, 8)
	sets := []struct {
		name  string
		texts func(b *testing.B) ([][]byte, int64)
	}{
		{"short", func(*testing.B) ([][]byte, int64) { return [][]byte{short}, int64(len(short)) }},
		{"long", func(*testing.B) ([][]byte, int64) { return [][]byte{long}, int64(len(long)) }},
		{"chorales-open", func(b *testing.B) ([][]byte, int64) { return unpacked(b, "chorales-open", 40) }},
		{"bulk", func(b *testing.B) ([][]byte, int64) { return unpacked(b, "bulk", 20) }},
	}
	ways := []struct {
		name string
		read func(b *testing.B, text []byte)
	}{
		{"score", func(b *testing.B, text []byte) {
			if _, err := Read("score", text, Limits{}); err != nil {
				b.Fatal(err)
			}
		}},
		{"etree", func(b *testing.B, text []byte) {
			if err := etree.NewDocument().ReadFromBytes(text); err != nil {
				b.Fatal(err)
			}
		}},
	}
	for _, set := range sets {
		for _, way := range ways {
			b.Run(set.name+"/"+way.name, func(b *testing.B) {
				texts, size := set.texts(b)
				b.SetBytes(size)
				b.ReportAllocs()
				for b.Loop() {
					for _, text := range texts {
						way.read(b, text)
					}
				}
			})
		}
		b.Run(set.name+"/interpret", func(b *testing.B) {
			texts, size := set.texts(b)
			docs := make([]*Document, len(texts))
			for i, text := range texts {
				docs[i] = readText(b, text)
			}
			b.SetBytes(size)
			b.ReportAllocs()
			for b.Loop() {
				for _, d := range docs {
					if err := d.interpret(); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkReadOrchestral reads a generated score of 50 MB for 24 parts and
// reports the most memory that the heap and the rest of the runtime held beside
// the document's bytes.
func BenchmarkReadOrchestral(b *testing.B) {
	text := exercises(24, 2200)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	stop, peak := make(chan struct{}), make(chan uint64)
	debug.FreeOSMemory() // what writing the score took
	go watchMemory(stop, peak)
	notes := 0
	for b.Loop() {
		d, err := Read("orchestral", text, Limits{})
		if err != nil {
			b.Fatal(err)
		}
		notes = len(d.Score.Notes)
	}
	close(stop)
	b.ReportMetric(float64(<-peak-uint64(len(text)))/(1<<20), "peak-MiB")
	b.ReportMetric(float64(len(text))/(1<<20), "text-MiB")
	b.ReportMetric(float64(notes), "notes")
}

// watchMemory samples the memory in use until told to stop, and then sends the
// largest sample.
func watchMemory(stop <-chan struct{}, peak chan<- uint64) {
	sample := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	most := uint64(0)
	for {
		metrics.Read(sample)
		most = max(most, sample[0].Value.Uint64()-sample[1].Value.Uint64())
		select {
		case <-stop:
			peak <- most
			return
		case <-time.After(2 * time.Millisecond):
		}
	}
}
