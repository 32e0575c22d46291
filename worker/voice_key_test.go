package worker

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
)

// rawChords are block chords as somebody plays them in, root or bass below and the
// other members close above it, a quarter each in 4/4, under a signature.
func rawChords(t *testing.T, progression string, fifths int) []byte {
	t.Helper()
	p, err := voicing.ReadProgression(progression)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i := range p.Chords {
		if i%4 == 0 {
			if i > 0 {
				b.WriteString("</measure>")
			}
			fmt.Fprintf(&b, `<measure number="%d">`, i/4+1)
		}
		if i == 0 {
			fmt.Fprintf(&b, `<attributes><divisions>1</divisions><key><fifths>%d</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`, fifths)
		}
		writeCloseChord(&b, p.Chords[i].Reading)
	}
	b.WriteString("</measure></part></score-partwise>")
	return []byte(b.String())
}

// writeCloseChord writes a chord in quarters, as closeChord has it.
func writeCloseChord(b *strings.Builder, r harmony.Reading) {
	for m, pitch := range closeChord(r) {
		b.WriteString("<note>")
		if m > 0 {
			b.WriteString("<chord/>")
		}
		fmt.Fprintf(b, "<pitch><step>%v</step><alter>%d</alter><octave>%d</octave></pitch><duration>1</duration><type>quarter</type></note>", pitch.Step, pitch.Alter, pitch.Octave)
	}
}

// closeChord is the bass of a chord in the third octave and its members above it.
func closeChord(r harmony.Reading) []theory.Pitch {
	bass := r.Bass()
	out := []theory.Pitch{{Step: bass.Step, Alter: bass.Alter, Octave: 3}}
	for m := range r.Size() {
		c := r.Member((r.Inversion() + m) % r.Size())
		p := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: out[len(out)-1].Octave}
		if m == 0 {
			p.Octave++
		}
		for !p.Above(out[len(out)-1]) {
			p.Octave++
		}
		out = append(out, p)
	}
	return out
}

// rawProgressions are our own, with the keys that a musician hears in them.
var rawProgressions = []struct {
	text, keys string
	// steps is how many fifths around the progression goes: each key is one file.
	steps []int
}{
	{"C: I vi IV V vi ii6 V7 I", "C", []int{-6, -4, -3, -1, 1, 3, 5}},
	{"C: I IV I64 V I V6 I V7 I", "C", []int{-5, -2, 0, 2, 4, 6}},
	{"a: i iv V i VI iio6 V i", "a", []int{-4, -3, -1, 1, 2, 4}},
	{"a: i V6 i viio6 i6 iv V i", "a", []int{-2, 0, 3, 5, -5}},
	{"C: I V6 vi iii IV I6 ii65 V7 I", "C", []int{-3, 0, 2, 4}},
	{"C: I vi ii V7 I G: I V6 vi ii6 V7 I I", "C G", []int{-3, 0, 2, 4}},
	{"a: i iv6 V i C: I IV V7 I vi ii6 V7 I", "a C", []int{-3, 0, 2}},
	{"C: I iv I6 bVI iv V7 I I", "C", []int{-2, 0, 3}},
	{"C: I V7/V V I V7/IV IV V7 I", "C", []int{-4, 1}},
	{"C: I IV V7 I a: i iv6 V i V6 i iv V i", "C a", []int{-3, 1, 4}},
	{"C: I vi ii6 V I F: ii V65 I IV V7 I I", "C F", []int{-2, 0, 3}},
	{"a: i iv V i e: iv V6 i iio6 V7 i i", "a e", []int{-2, 1, 3}},
	{"C: I V I G: IV V I vi ii65 V7 I C: IV ii6 V7 I I", "C G C", []int{-3, 0, 2}},
	{"C: I IV iv I bVII IV V7 I", "C", []int{-1, 2}},
	{"a: i iv6 N6 V7 i VI iv V i", "a", []int{-3, 2}},
	{"C: I vi Ger65 V I ii6 V7 I", "C", []int{-2, 1}},
	{"a: i iv VII III VI iv V i", "a", []int{-3, -1, 1, 2, 4}},
	{"C: I V/vi vi bVI V7 I I I", "C", []int{-1, 0, 3}},
	{"C: I vi IV iv bVI bVII I I", "C", []int{-2, 1}},
	{"C: ii V7 I vi ii V7 I I", "C", []int{-4, 0, 6}},
	{"a: V7 i V7 i iv i V7 i", "a", []int{-3, 1}},
	{"C: I bVII IV I I bVII IV I", "C", []int{-2, 4}},
}

// The key of raw chords is heard in the chords; the signature, right, missing or wrong,
// is only evidence. What is heard instead of the signature is said.
func TestKeyOfRawChords(t *testing.T) {
	files, right := 0, 0
	for _, raw := range rawProgressions {
		for i, fifths := range raw.steps {
			text, keys := transposed(t, raw.text, raw.keys, fifths)
			first, err := theory.ParseKey(keys[0])
			if err != nil {
				t.Fatal(err)
			}
			signature := 0
			if i%2 == 0 {
				signature = first.Signature()
			}
			_, said := voiced(t, Input{Name: "raw.musicxml", Data: rawChords(t, text, signature)})
			files++
			var heard []string
			for _, c := range said.Alternatives[0].Chords {
				if len(heard) == 0 || heard[len(heard)-1] != c.Key {
					heard = append(heard, c.Key)
				}
			}
			_, given := voiced(t, Input{Name: "raw.musicxml", Data: rawChords(t, text, first.Signature())}, "key", keys[0])
			if len(keys) == 1 && given.Alternatives[0].Semitones != said.Alternatives[0].Semitones {
				t.Errorf("%s under a signature of %d: %d semitones, %d with the key given", text, signature, said.Alternatives[0].Semitones, given.Alternatives[0].Semitones)
			}
			if strings.Join(heard, " ") == strings.Join(keys, " ") {
				right++
			} else {
				t.Logf("%s under a signature of %d: heard in %v, want %v", text, signature, heard, keys)
			}
			if signature != first.Signature() && len(said.Notices) == 0 {
				t.Errorf("%s: not a word about the signature of %d", text, signature)
			}
			for _, key := range heard[1:] {
				want := "the key changes to " + inWords(t, key) + " in measure "
				if !slices.ContainsFunc(said.Notices, func(n string) bool { return strings.HasPrefix(n, want) }) {
					t.Errorf("%s: not a word about the change to %s: %v", text, key, said.Notices)
				}
			}
		}
	}
	t.Logf("%d of %d keys right", right, files)
	if right*20 < files*19 {
		t.Errorf("only %d of %d files are read in their keys", right, files)
	}
}

// inWords is a key as sentences name it: "E♭ major".
func inWords(t *testing.T, key string) string {
	t.Helper()
	k, err := theory.ParseKey(key)
	if err != nil {
		t.Fatal(err)
	}
	tonic := strings.NewReplacer("b", "♭", "#", "♯").Replace(k.Tonic.String())
	return tonic + " " + k.Mode.String()
}

// transposed moves a progression and the keys that are heard in it by so many fifths.
func transposed(t *testing.T, text, heard string, fifths int) (moved string, keys []string) {
	t.Helper()
	keys = strings.Fields(heard)
	for k, key := range keys {
		from, err := theory.ParseKey(key)
		if err != nil {
			t.Fatal(err)
		}
		keys[k] = movedBy(from, fifths).Abbreviation()
		text = strings.Replace(text, key+":", keys[k]+"$:", 1)
	}
	return strings.ReplaceAll(text, "$", ""), keys
}

// Chord symbols without notes are read in the key that their chords have, as raw chords
// are, and what is heard instead of the signature is said; --key still sets it.
func TestKeyOfSymbolsWithoutNotes(t *testing.T) {
	files, right := 0, 0
	for _, raw := range rawProgressions {
		for i, fifths := range raw.steps {
			text, keys := transposed(t, raw.text, raw.keys, fifths)
			p, err := voicing.ReadProgression(text)
			if err != nil {
				t.Fatal(err)
			}
			if slices.ContainsFunc(p.Chords, func(c voicing.ProgressionChord) bool { return symbolKinds[c.Reading.Quality()] == "" }) {
				continue // no symbol names an augmented sixth
			}
			first := p.Chords[0].Reading.Key
			signature := 0
			if i%2 == 0 {
				signature = first.Signature()
			}
			sheet := symbolsOverRests(p, signature)
			_, said := voiced(t, sheet)
			files++
			var heard []string
			for _, c := range said.Alternatives[0].Chords {
				if len(heard) == 0 || heard[len(heard)-1] != c.Key {
					heard = append(heard, c.Key)
				}
			}
			if strings.Join(heard, " ") == strings.Join(keys, " ") {
				right++
			} else {
				t.Logf("%s under a signature of %d: heard in %v, want %v", text, signature, heard, keys)
			}
			if signature != first.Signature() && len(said.Notices) == 0 {
				t.Errorf("%s: not a word about the signature of %d", text, signature)
			}
			if _, said := voiced(t, sheet, "key", "F#"); said.Alternatives[0].Chords[0].Key != "F#" {
				t.Errorf("%s: read in %s, though F# is asked for", text, said.Alternatives[0].Chords[0].Key)
			}
		}
	}
	t.Logf("%d of %d keys right", right, files)
	if right*20 < files*19 {
		t.Errorf("only %d of %d sheets are read in their keys", right, files)
	}
}

// symbolKinds are the kinds of chord symbols (W3C MusicXML 4.0, kind-value).
var symbolKinds = map[harmony.Quality]string{
	harmony.MajorTriad: "major", harmony.MinorTriad: "minor", harmony.DiminishedTriad: "diminished",
	harmony.DominantSeventh: "dominant", harmony.MinorSeventh: "minor-seventh", harmony.HalfDiminishedSeventh: "half-diminished",
}

// symbolsOverRests are the chords of a progression as chord symbols, a quarter each.
func symbolsOverRests(p *voicing.Progression, fifths int) Input {
	var b strings.Builder
	fmt.Fprintf(&b, `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Chords</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions><key><fifths>%d</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`, fifths)
	for i := range p.Chords {
		if i%4 == 0 && i > 0 {
			fmt.Fprintf(&b, `</measure><measure number="%d">`, i/4+1)
		}
		r := p.Chords[i].Reading
		fmt.Fprintf(&b, `<harmony><root><root-step>%v</root-step><root-alter>%d</root-alter></root><kind>%s</kind><bass><bass-step>%v</bass-step><bass-alter>%d</bass-alter></bass></harmony><note><rest/><duration>1</duration></note>`,
			r.Root().Step, r.Root().Alter, symbolKinds[r.Quality()], r.Bass().Step, r.Bass().Alter)
	}
	b.WriteString("</measure></part></score-partwise>")
	return Input{Name: "symbols.musicxml", Data: []byte(b.String())}
}

// movedBy is a key so many fifths on.
func movedBy(k theory.Key, fifths int) theory.Key {
	tonic := theory.PitchClassAtFifths(k.Tonic.Fifths() + fifths)
	return theory.Key{Tonic: tonic, Mode: k.Mode}
}

// A new signature says where a new key begins: a chord that both keys have belongs to the
// one that is written over it (common practice, no source).
func TestKeysBeginWithTheirSignature(t *testing.T) {
	score := string(rawChords(t, "C: I IV V7 I D: I IV V7 I", 0))
	score = strings.Replace(score, `<measure number="2">`, `<measure number="2"><attributes><key><fifths>2</fifths></key></attributes>`, 1)
	_, said := voiced(t, Input{Name: "raw.musicxml", Data: []byte(score)})
	var read []string
	for _, c := range said.Alternatives[0].Chords {
		read = append(read, c.Key+": "+c.Numeral)
	}
	if got, want := strings.Join(read, " "), "C: I C: IV C: V7 C: I D: I D: IV D: V7 D: I"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
