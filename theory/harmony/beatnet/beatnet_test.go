package beatnet

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"
)

func randomNet(seed uint64, hidden int) *Net {
	r := rand.New(rand.NewPCG(seed, 1))
	n := NewNet(hidden)
	for _, layer := range [][]float32{n.In, n.Bias, n.Out, n.Prior} {
		for i := range layer {
			layer[i] = float32(r.NormFloat64())
		}
	}
	return n
}

// chord is the mask of pitch classes by their fifths above C.
func chord(fifths ...int) uint64 {
	mask := uint64(0)
	for _, f := range fifths {
		mask |= 1 << uint(f+COffset)
	}
	return mask
}

// cadence is I IV V I in a key, two frames a beat, in two phrases.
func cadence(tonic int) []Frame {
	var out []Frame
	for phrase := range 2 {
		for i, root := range []int{0, -1, 1, 0} {
			root += tonic
			for half := range 2 {
				out = append(out, Frame{Sounding: chord(root, root+1, root+4), Bass: int8(root + COffset), Beats: 0.5,
					OnBeat: half == 0, Level: int8(1 - half), PhraseEnd: i == 3 && half == 1 && phrase == 0, Signature: int8(tonic)})
			}
		}
	}
	return out
}

func TestMusicIsInBeats(t *testing.T) {
	m := NewMusic(cadence(0))
	if m.Beats() != 8 || m.BeatOf(5) != 2 || m.FirstFrame(2) != 4 {
		t.Errorf("%d beats, frame 5 in beat %d, beat 2 from frame %d", m.Beats(), m.BeatOf(5), m.FirstFrame(2))
	}
	if len(m.phrases) != 2 || m.phrases[1].first != 4 {
		t.Errorf("phrases %v", m.phrases)
	}
}

// Music a fifth higher is the same to a net.
func TestTransposition(t *testing.T) {
	n := randomNet(1, 6)
	a, b := n.Hear(NewMusic(cadence(0)), Within), n.Hear(NewMusic(cadence(3)), Within)
	for i := range a {
		if a[i] != b[i] {
			t.Fatalf("beat %d: another answer in A than in C", i)
		}
	}
}

// A printed signature that has nothing to do with the notes is not believed: the
// outputs are counted from what sounds.
func TestReferenceFollowsTheNotes(t *testing.T) {
	frames := cadence(4)
	for i := range frames {
		frames[i].Signature = 0
	}
	m := NewMusic(frames)
	for i := range m.Beats() {
		if m.Reference(i) < 3 {
			t.Errorf("beat %d in E major counts from %d sharps", i, m.Reference(i))
		}
	}
}

func TestGroupsAreDistributions(t *testing.T) {
	for i, logs := range randomNet(2, 6).Hear(NewMusic(cadence(0)), Within) {
		for g := range NumGroups {
			first, end := g.Bounds()
			sum := 0.0
			for _, v := range logs[first:end] {
				sum += math.Exp(float64(v))
			}
			if math.Abs(sum-1) > 1e-3 {
				t.Errorf("beat %d, group %d: probabilities add up to %v", i, g, sum)
			}
		}
	}
}

// What is shared by a phrase is added up once; the answer is that of all inputs
// together.
func TestHearTakesAllInputs(t *testing.T) {
	n, m := randomNet(3, 6), NewMusic(cadence(0))
	heard := n.Hear(m, Within)
	for i := range heard {
		hidden := append([]float32(nil), n.Bias...)
		n.Take(m.Gather(i, nil), hidden)
		Rectify(hidden)
		var want [Outputs]float32
		n.Logs(hidden, want[:])
		for k := range want {
			if math.Abs(float64(want[k]-heard[i][k])) > 1e-3 {
				t.Fatalf("beat %d, output %d: %v, want %v", i, k, heard[i][k], want[k])
			}
		}
	}
}

func TestFile(t *testing.T) {
	n := randomNet(4, 6)
	var b bytes.Buffer
	if err := Write(&b, "made by a test\nCC0", n); err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(b.Bytes(), []byte("# made by a test\n# CC0\n\n")) {
		t.Errorf("begins with %q", b.Bytes()[:30])
	}
	back, err := Read(b.String())
	if err != nil {
		t.Fatal(err)
	}
	for i := range n.In {
		if math.Abs(float64(n.In[i]-back.In[i])) > 4.0/127 {
			t.Fatalf("weight %d is %v, was %v", i, back.In[i], n.In[i])
		}
	}
	for _, bad := range []string{"", "# no end", "# x\n\nshort", b.String()[:b.Len()-1], b.String() + "x"} {
		if _, err := Read(bad); err == nil {
			t.Errorf("%d bytes that are no net were read", len(bad))
		}
	}
}

func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	if err := Write(&b, "x", NewNet(1)); err != nil {
		f.Fatal(err)
	}
	f.Add(b.String())
	f.Add("# x\n\n\x01\x00\x00\x00\x00\x00\x00\x00")
	f.Fuzz(func(t *testing.T, data string) {
		if n, err := Read(data); err == nil {
			n.Hear(NewMusic(cadence(0)), Within)
		}
	})
}

func BenchmarkHear(b *testing.B) {
	n := randomNet(5, 48)
	frames := cadence(0)
	for range 3 {
		frames = append(frames, frames...)
	}
	b.ReportAllocs()
	for b.Loop() {
		n.Hear(NewMusic(frames), Within)
	}
}
