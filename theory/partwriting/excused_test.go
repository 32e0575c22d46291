package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// What looks like a fault and is none, or a lesser one, each beside a passage
// that is one. One sonority lasts an eighth, a beat a quarter; the chords are as
// labeled, and readings that nobody vouches for where "unsure" stands in front.
// The music is our own; each rule names the source of its reading.
func TestExcusedPassages(t *testing.T) {
	for _, test := range []struct{ rule, music, want, why string }{
		{"spacing", "C: I C3 E3 E4 C5 | - C3 E3 F4 C5 | - C3 E3 E4 C5", "AT 1 caution", "an upper neighbor between the beats widens it"},
		{"spacing", "C: I C3 E3 E4 C5 | . . . . | - C3 E3 G4 C5 | . . . .", "AT 2 fault", "the chord itself is voiced so"},
		{"spacing", "C: I C3 E3 E4 C5 | - C3 E3 F4 C5 | - C3 . G4 C5", "AT 1 fault", "the passing tone leads to a chord tone as far away"},
		{"spacing", "C3 G3 C5 | D3 A3 F4", "V1V2 0 caution", "three voices have more room to fill"},
		{"voice-crossing", "C: I C3 C3 E4 G4 | - C3 B2 E4 G4 | - C3 C3 E4 G4", "TB 1 caution", "a lower neighbor dips under the bass"},
		{"voice-crossing", "C: I C3 C3 E4 G4 | . . . . | - C3 G2 E4 G4 | . . . .", "TB 2 fault", "a chord tone stays there"},
		{"voice-crossing", "C: I C3 C3 E4 G4 | - C3 F#2 E4 G4 | - C3 C3 E4 G4", "TB 1 fault", "no figure leaps to a foreign note and away: it is a wrong note"},

		{"leading-tone-doubled", "C: V6 B2 G3 D4 B4 | . . . . | ii6 F3 A3 D4 A4", "SB 0 caution", "the chord does not go home: 7 falls within a line"},
		{"leading-tone-doubled", "C: V6 B2 G3 D4 B4 | . . . . | vi A2 A3 E4 C5", "SB 0 fault", "vi holds the tonic"},
		{"leading-tone-doubled", "C: V7 G2 F4 G4 B4 | . . . . | F: V6 E3 G4 C5 E5 | . . . . | I F3 A4 C5 F5", "", "C major has just come as the tonic"},
		{"leading-tone-doubled", "F: I F3 A4 C5 F5 | . . . . | V6 E3 G4 C5 E5 | . . . . | I F3 A4 C5 F5", "SB 2 fault", "in F major it is the dominant and nothing else"},

		{"leading-tone-unresolved", "unsure C: V6 B2 G3 D4 G4 | . . . . | I6 E3 G3 C4 G4 | I C3 G3 E4 G4", "", "the tonic note comes later in the tonic"},
		{"leading-tone-unresolved", "C: V6 B2 G3 D4 G4 | . . . . | I6 E3 G3 C4 G4 | I C3 G3 E4 G4", "B 2 fault", "the chords are named, each is meant"},
		{"leading-tone-unresolved", "C: V6 B2 G3 D4 G4 | . . . . | I6 E3 G3 C4 G4 | . . . . | IV F3 A3 C4 F4", "B 2 fault", "it never comes"},
		{"leading-tone-unresolved", "C: V65 B2 G3 D4 F4 | . . . . | Cad64 G2 G3 C4 E4 | . . . . | V G2 G3 B3 D4", "", "the six-four still belongs to the dominant"},
		{"leading-tone-unresolved", "C: V65 B2 G3 D4 F4 | . . . . | I G2 G3 C4 E4", "B 2 fault", "this is the tonic"},
		{"leading-tone-unresolved", "C: V6 B2 G3 D4 G4 | . . . . | G: IV6 E3 G3 C4 G4", "B 2 caution", "in the next key the triad is the tonic"},
		{"leading-tone-unresolved", "unsure C: V G2 D4 G4 B4 | V6 B2 . . . | I6 E3 C4 G4 C5", "B 2 caution", "the bass touches it between the beats"},
		{"leading-tone-unresolved", "C: V G2 D4 G4 B4 | V6 B2 . . . | I6 E3 C4 G4 C5", "B 2 fault", "the chords are named, each is meant"},
		{"applied-leading-tone-unresolved", "a: V7/VI C3 G3 Bb3 E4 | . . . . | VImaj7 F3 A3 C4 . | iv6 F3 A3 D4 D4", "", "held as the seventh of the target, it falls"},
		{"applied-leading-tone-unresolved", "a: V7/VI C3 G3 Bb3 E4 | . . . . | VI F3 A3 C4 C4", "S 2 fault", "the target has no seventh"},

		{"seventh-unresolved", "unsure a: viio42 F3 B3 D4 G#4 | . . . . | iv D3 A3 D4 A4 | V E3 G#3 E4 B4", "", "the bass reaches E over a chord shorter than a beat"},
		{"seventh-unresolved", "a: viio42 F3 B3 D4 G#4 | . . . . | iv D3 A3 D4 A4 | V E3 G#3 E4 B4", "B 2 fault", "the chords are named, each is meant"},
		{"seventh-unresolved", "unsure a: viio42 F3 B3 D4 G#4 | . . . . | iv D3 A3 D4 A4 | . . . . | i C3 A3 E4 A4", "B 2 caution", "it does not, but in iv the note is consonant"},
		{"seventh-unresolved", "a: viio42 F3 B3 D4 G#4 | . . . . | iv D3 A3 D4 A4 | . . . . | i C3 A3 E4 A4", "B 2 fault", "the chords are named, each is meant"},
		{"seventh-unresolved", "a: viio42 F3 B3 D4 G#4 | . . . . | i C3 A3 E4 A4", "B 2 fault", "it leaps away into a chord without it"},
		{"seventh-unresolved", "unsure C: V42 F3 G3 B3 D4 | . . . . | viio7/V F#3 A3 C4 Eb4", "B 2 caution", "it slides up and leads on"},
		{"seventh-unresolved", "C: V42 F3 G3 B3 D4 | . . . . | viio7/V F#3 A3 C4 Eb4", "B 2 fault", "the chords are named, each is meant"},
		{"seventh-unresolved", "d: viio65 E3 G3 C#4 Bb4 | - . . . A4 | i F3 D4 D4 A4", "T 2 fault", "Bb falls to A: V65 by now, and G is its seventh"},
		{"seventh-unresolved", "unsure C: V43 D3 F3 G3 G4 | . . . . | I C3 G3 G3 E4", "T 2 caution", "without its third it may be another chord"},
		{"seventh-unresolved", "C: V43 D3 F3 G3 G4 | . . . . | I C3 G3 G3 E4", "T 2 fault", "the chords are named, each is meant"},

		{"seventh-unresolved", "C: viiø42 A3 D4 F4 D5 | . . . . | I6 E3 E4 G4 C5", "", "without its root it is no seventh"},
		{"seventh-unresolved", "C: viiø42 A3 B3 D4 F4 | . . . . | I6 E3 C4 C4 G4", "B 2 fault", "with it, it is"},
		{"seventh-unresolved", "unsure g: iiø43 Eb3 A3 C4 G4 | - Eb3 G3 C4 G4 | V D3 D4 F#4 A4", "", "the A was an accented passing note: at the change G is consonant"},
		{"seventh-unresolved", "g: iiø43 Eb3 A3 C4 G4 | - Eb3 G3 C4 G4 | V D3 D4 F#4 A4", "S 2 fault, T 2 fault", "the chords are named, each is meant"},
		{"seventh-unresolved", "unsure g: iiø43 Eb3 A3 C4 G4 | . . . . | V D3 D4 F#4 A4", "S 2 caution", "the A is there to the end"},
		{"seventh-unresolved", "unsure C: IVmaj7 F3 C4 E4 A4 | . . . . | V7 G3 B3 F4 G4", "A 2 caution", "it rises, and was there before"},
		{"seventh-unresolved", "unsure C: IV F3 C4 D4 A4 | . . . . | IVmaj7 F3 C4 E4 A4 | . . . . | V7 G3 B3 F4 G4", "", "a passing tone on its way up"},
		{"seventh-unresolved", "unsure a: iiø42 A3 D4 F4 B4 | . . . . | IV A2 D4 F#4 A4 | . . . .", "", "the bass stays, in another octave"},
		{"seventh-unresolved", "unsure A: V7 E3 D4 G#4 B4 | . . . . | I D3 E4 A4 A4 | - C#3 . . .", "", "the bass takes the seventh over and lets it fall"},
		{"seventh-unresolved", "unsure A: V7 E3 D4 G#4 B4 | . . . . | I C#3 E4 A4 A4 | . . . .", "T 2 caution", "the bass takes it over"},
		{"seventh-unresolved", "C: V42 F3 G3 B3 D4 | . . . . | I6 E2 G3 C4 C4", "", "down a step and an octave: told as a leap"},
		{"seventh-unresolved", "C: viio7/V F#3 C4 Eb4 A4 | . . . . | Cad64 G3 C4 E4 G4", "", "it slides up into the six-four that delays its resolution"},
		{"seventh-unresolved", "C: viio7/V F#3 C4 Eb4 A4 | . . . . | V G3 B3 E4 G4", "A 2 fault", "nothing delays it"},
		{"leading-tone-doubled", "C: V65/V F#3 A3 D4 F#4 | . . . . | Cad64 G3 G3 E4 C5", "SB 0 fault", "the six-four stands over its tonic"},
		{"seventh-doubled", "unsure C: vi7 A2 G3 E4 G4 | . . . . | ii D3 F3 D4 A4", "ST 0 caution", "it may be another chord"},
		{"seventh-doubled", "unsure C: V7 G2 F3 B3 F4 | . . . . | I C3 E3 C4 E4", "ST 0 fault", "a dominant is unmistakable"},

		{"third-missing", "c: i C3 G3 C4 G4 | . . . . | V7/iv C3 E3 Bb3 G4 | . . . . | iv F3 F3 Ab3 F4", "SATB 0 fault", "the next chord on its root has another third"},
		{"third-missing", "C: I C3 E4 C5 | . . . | V G3 G4 D5 | . . . | I C3 E4 C5", "V1V2V3 2 fault", "three voices keep the thirds of chords that are named"},
		{"third-missing", "unsure C: I C3 E4 C5 | . . . | V G3 G4 D5 | . . . | I C3 E4 C5", "", "in three voices nobody knows what is meant"},
		{"seventh-missing", "C: I C3 E4 C5 | . . . | V7 G3 D4 B4 | . . . | I C3 E4 C5", "V1V2V3 2 fault", "it was asked for"},
		{"root-missing", "C: I C3 E4 C5 | . . . | V43 D3 F4 B4 | . . . | I6 E3 G4 C5", "", "three voices leave it out of a seventh chord"},
		{"root-missing", "C: I C3 E4 C5 | . . . | ii6 F3 F4 A4 | . . . | V G3 D4 B4", "V1V2V3 2 fault", "F and A are IV"},
		{"third-missing", "A: I A2 E4 A4 C#5 | . . . . | ii7 B2 . F#4 A4 | . . . . | viio7/iii B#2 D#4 F#4 A4", "", "E stands for it, and falls when the bass has moved"},
		{"third-missing", "A: I A2 E4 A4 C#5 | . . . . | ii7 B2 F#4 F#4 A4 | . . . . | V E3 E4 G#4 B4", "SATB 2 fault", "nothing stands for it"},
		{"third-missing", "unsure C: V6 B2 G4 D4 G4 | . . . . | I64 G2 G4 C4 G4 | . . . . | V G2 G4 B3 D5", "", "a fourth over the dominant is no chord"},
		{"third-missing", "unsure C: I C3 G3 E4 C5 | . . . . | V G3 G3 D4 D5 | . . . . | I C3 G3 E4 C5", "SATB 2 fault", "an open fifth is what it is"},
		{"third-missing", "C: I C3 G3 E4 C5 | . . . . | V G3 G3 D4 D5 | . . . . | V7 G3 F4 D4 G4 | . . . .", "SATB 2 fault", "once for as long as the root lasts"},

		{"cadential-six-four-unresolved", "C: ii6 F3 A3 D4 D5 | . . . . | Cad64 G3 G3 C4 E5 | - . . A3 . | V G3 G3 B3 D5", "", "the fourth resolves after an ornament"},
		{"cadential-six-four-unresolved", "C: ii6 F3 A3 D4 D5 | . . . . | Cad64 G3 G3 C4 E5 | . . . . | V G3 B3 D4 D5", "A 4 fault", "the fourth rises"},
		{"cadential-six-four-unresolved", "C: V G3 G3 D4 B4 | . . . . | Cad64 G3 G3 E4 C5 | . . . . | V7 G3 G3 F4 B4", "", "the sixth rises to the seventh, as Rimsky-Korsakov, Practical Manual of Harmony, has it"},
		{"cadential-six-four-unresolved", "C: ii6 F3 A3 D4 D5 | . . . . | Cad64 G3 C4 G4 D5 | - . . E4 . | V G3 B3 F4 D5", "", "the sixth is only touched between the beats"},
		{"cadential-six-four-unresolved", "C: ii6 F3 A3 D4 D5 | . . . . | Cad64 C4 G3 E4 C5 | . . . . | V G3 G3 D4 D5", "", "the bass has another note, the tenor is below it"},
		{"six-four-doubling", "d: VI Bb3 D4 F4 D5' | . . . . | i64 A3 D4 F4 . | . . . . | i6 F3 D4 A4 .", "", "under a held fermata nothing new begins"},
		{"six-four-doubling", "d: VI Bb3 D4 F4 D5 | . . . . | i64 A3 D4 F4 . | . . . . | i6 F3 D4 A4 .", "SATB 2 caution", "within a phrase"},
		{"six-four-doubling", "C: I C3 E4 G4 C5 | . . . . | IV64 C3 F4 A4 A4 | . . . . | I C3 E4 G4 G4", "SATB 2 caution", "over a pedal"},
		{"six-four-doubling", "C: ii6 F3 A3 D4 D5 | . . . . | Cad64 G3 C4 C4 E4 | . . . . | V G3 B3 D4 D4", "SATB 2 fault", "before a cadence"},

		{"direct-octaves", "C: I6 E3 G3 C4 G4 | . . . . | I C4 E4 G4 C5", "SB 2 caution", "the chord changes its position"},
		{"direct-octaves", "C: IV F3 A3 C4 C5 | . . . . | V G3 B3 D4 G5", "SB 2 fault", "the chord changes"},
		{"direct-fifths", "F: I F3 C4 F4 A4 | - . . . Bb4 | V C3 C4 E4 G4 | . . . .", "SB 2 caution", "an escape tone makes a leap of a step"},
		{"direct-fifths", "F: I F3 C4 F4 Bb4 | . . . . | V C3 C4 E4 G4 | . . . .", "SB 2 fault", "no figure explains the soprano, so it counts as it stands"},
		{"direct-fifths", "C: IV6 A2 C4 F4 C5 | . . . . | I G2 C4 E4 D5", "", "contrary motion"},
		{"leap-of-seventh", "C: V G2 G3 D4 B4 | . . . . | V7 G2 F4 D4 B4", "", "from root to seventh of one dominant"},
		{"leap-of-seventh", "C: I C3 G3 E4 C5 | . . . . | V42/IV Bb3 G3 E4 C5", "B 2 fault", "the tonic turns into another dominant"},
		{"leap-of-seventh", "C: V G2 G3 D4 B4 | . . . . | IV6 A2 F4 C4 C5", "T 2 fault", "to another root"},
		{"leap-of-seventh", "C: I C3 C4 E4 G4 | . . . . | Imaj7 C3 B4 E4 G4", "T 2 fault", "a major seventh is hard to sing in any chord"},
		{"diminished-interval", "a: iv D3 F4 A4 D5 | . . . . | V E3' B3' G#4' E5'", "", "the phrase is over and cannot turn back"},
		{"diminished-interval", "C: V7 G2 D4 F4 B4 | . . . . | I C3 E4 F4 C5 | - . . B3 . ||", "A 3 caution", "the last chord has come, and one voice leaps to a foreign note and stays there"},
		{"diminished-interval", "C: I C3 E4 G4 C5 | . . . . | V7 G2 D4 F4 B4 | - . . B3 . ||", "", "both notes belong to the chord that the others hold"},
		{"diminished-interval", "a: iv D3 F4 A4 D5 | . . . . | V E3 B3 G#4 E5 | . . . . | i A2 A3 A4 E5", "T 2 caution", "it goes on the same way"},
		{"bass-doubled-in-six", "C: I C3 G3 C4 E4 | . . . . | I6 E3 G3 C4 E4", "", "only the bass has moved within the chord"},
		{"bass-doubled-in-six", "C: IV F3 A3 C4 F4 | . . . . | I6 E3 G3 C4 E4", "SB 2 caution", "the chord begins so"},
		{"all-one-direction", "C: V G2 D4 G4 B4 | . . . . | V7 F2 B3 F4 G4", "", "the dominant changes its position"},
		{"all-one-direction", "C: Cad64 G3 G3 E4 C5 | . . . . | V G2 D3 D4 B4", "", "the bass keeps its note in another octave"},
		{"all-one-direction", "C: vi A3 C4 E4 C5 | . . . . | V G3 B3 D4 B4", "SATB 2 caution", "the chord changes, and so do all voices"},

		{"masked-fifths", "F: vi D3 F3 D4 A4 | . . . . | V6 E3 G3 D4 G4 | - . . C4 . | I F3 F3 C4 A4", "", "the suspension is judged by its resolution"},
		{"masked-fifths", "F: vi D3 F3 D4 A4 | . . . . | ii G2 G3 D4 Bb4 | - . . Bb3 . | I F2 F3 C4 A4", "AT 4 caution, AB 4 caution", "both fifths belong to chords"},
		{"parallel-fifths", "A: V E3 E4 G#4 B4 | V7 . D4 . A4 | I A2' C#4' E4' A4'", "ST 1 remark", "the final note is anticipated"},
		{"parallel-fifths", "A: V E3 E4 G#4 B4 | . . . . | V7 . D4 . A4 | . . . . | I A2' C#4' E4' A4'", "ST 2 fault", "a whole beat is no anticipation"},
		{"parallel-fifths", "A: V E3 E4 G#4 B4 | V7 . D4 . A4 | I A2 C#4 E4 A4", "ST 1 fault", "no cadence"},
		{"leading-tone-not-raised", "unsure a: i A2 E4 A4 C5 | . . . . | v E3 E4 G4 B4 | . . . . | i A2' E4' A4' C5'", "A 2 fault", "the phrase closes from a minor dominant"},
		{"leading-tone-not-raised", "unsure a: i A2 E4 A4 C5 | . . . . | v E3 E4 G4 B4 | V E3 E4 G#4 B4 | i A2' E4' A4' C5'", "", "it is raised before the root is left"},
	} {
		music, unsure := strings.CutPrefix(test.music, "unsure ")
		texture := theorytest.ChordsOf(theory.Frac(1, 2), music)
		analysis := labeled(t, music, texture)
		if unsure {
			for i := range analysis.Harmonies {
				analysis.Harmonies[i].Confidence = 0.7
			}
		}
		var got []string
		for _, f := range partwriting.Check(texture, analysis, nil) {
			if string(f.Rule) == test.rule {
				got = append(got, fmt.Sprintf("%s %v %s", voicesOf(texture, &f), f.Onset.Mul(theory.Whole(2)), f.Severity))
			}
		}
		if strings.Join(got, ", ") != test.want {
			t.Errorf("%s: %s\n got  %v\n want %v\n because: %s", test.rule, test.music, got, test.want, test.why)
		}
	}
}

// What a beat of silence lies between is not in succession: no voice has moved
// across it, and no note is left to contradict.
func TestSilenceEndsSuccession(t *testing.T) {
	for _, test := range []struct {
		rule   string
		before [4]string
		want   map[string]int // findings by what stands between
	}{
		{"all-one-direction", [4]string{"C5", "G4", "E4", "C4"}, map[string]int{"": 1, "r*1/2": 1, "r*1": 0, "r*2": 0}},
		{"cross-relation", [4]string{"C5", "G4", "D#4", "C4"}, map[string]int{"": 1, "r*1/2": 1, "r*1": 0, "r*2": 0}},
	} {
		after := [4]string{"B4", "F4", "D4", "B3"}
		names := [4]string{"Soprano", "Alto", "Tenor", "Bass"}
		if test.rule == "cross-relation" {
			after = [4]string{"D5", "F4", "B3", "B3"}
		}
		for rest, want := range test.want {
			var lines []string
			for v := range names {
				lines = append(lines, fmt.Sprintf("%s: %s %s %s*2", names[v], test.before[v], rest, after[v]))
			}
			count := 0
			for _, f := range partwriting.Check(separation.FindVoices(theorytest.Score(lines...)), nil, nil) {
				if string(f.Rule) == test.rule {
					count++
				}
			}
			if count != want {
				t.Errorf("%s over %q: %d findings, want %d", test.rule, rest, count, want)
			}
		}
	}
}

// On the way to V7 a ii65 may double its bass in place of its fifth, so that both sevenths
// are prepared (Open Music Theory, keyboard style); the strict set wants every inverted
// chord complete (College Board, scoring guidelines 2015). The music is our own.
func TestFifthOfPredominant(t *testing.T) {
	for _, test := range []struct{ set, music, want, why string }{
		{"keyboard", "C: I C3 C4 E4 G4 | ii65 F3 C4 D4 F4 | V7 G3 B3 D4 F4 | I C3 C4 C4 E4", "", "both sevenths are prepared"},
		{"strict-chorale", "C: I C3 C4 E4 G4 | ii65 F3 C4 D4 F4 | V7 G3 B3 D4 F4 | I C3 C4 C4 E4", "SATB 1 caution", "an inverted chord is complete"},
		{"keyboard", "C: I C3 C4 E4 G4 | ii65 F3 C4 D4 F4 | V G3 B3 D4 G4 | I C3 C4 E4 G4", "SATB 1 caution", "V has no seventh to prepare"},
		{"keyboard", "C: I C3 C4 E4 G4 | ii65 F3 C4 D4 D4 | V7 G3 B3 D4 F4 | I C3 C4 C4 E4", "SATB 1 caution", "the bass is not doubled"},
		{"keyboard", "C: I C3 C4 E4 G4 | ii6 F3 D4 D4 F4 | V7 G3 B3 D4 F4 | I C3 C4 C4 E4", "SATB 1 caution", "a ii6 has its fifth"},
	} {
		texture := theorytest.Chords(test.music)
		if got := ruleVerdict(texture, labeled(t, test.music, texture), partwriting.RuleSetByName(test.set), "fifth-missing"); got != test.want {
			t.Errorf("%s, %s: %q, want %q", test.set, test.why, got, test.want)
		}
	}
}
