package voicing

import (
	"regexp"
	"slices"
	"strings"

	"partwright/theory"
)

// longestMeant is how long a word is, in bytes, that another one may be looked for: words near
// it are as many as its letters, and as long.
const longestMeant = 64

// change says the smallest change that makes a word readable which is not, as a clause behind
// the error; "" where none is near or the error names one. The further words of its line
// follow it.
func (r *rowReader) change(word string, wrong error, further []string) string {
	if word = strings.TrimRight(word, ",;"); len(word) > longestMeant {
		return ""
	}
	near := []string{meantKey(word, further, r.hasKey), meantLine(word)}
	if said := wrong.Error(); r.hasKey && !strings.Contains(said, "nearest") && !strings.Contains(said, ": write") && !strings.Contains(said, "; write") {
		near = append(near, r.meant(word, further)...)
	}
	for _, candidate := range near {
		if candidate != word && candidate != "" {
			return "; if " + candidate + " is meant, write that"
		}
	}
	return ""
}

// meant are readable notes or chords near a word that is none, the nearest first.
func (r *rowReader) meant(word string, further []string) []string {
	bare, beats, counted := strings.Cut(word, "*")
	if counted {
		if n, err := readBeats(beats); err != nil || n.Sign() <= 0 || theory.Whole(64).Less(n) {
			return nil
		}
		beats = "*" + beats
	}
	var near []string
	switch r.given {
	case noLine:
		near = r.meantChords(bare, further)
	case bassLine:
		near = meantBass(bare, r.lastNote())
	default:
		near = []string{meantNote(bare, r.lastNote())}
	}
	for i := range near {
		if near[i] != "" {
			near[i] += beats
		}
	}
	return near
}

// keyWords are words behind the tonic of a key.
var keyWords = regexp.MustCompile(`^([A-Ha-h](?:##?|bb?|♯|♭)?)[.:;]*(maj|major|Major|dur|m|min|minor|Minor|moll)?[.:;]*$`)

// meantKey is the key that a word may be meant for: "Cm:" for c:, or, where none stands
// before it, "C" and "C minor". What is joined to a key is parted from it.
func meantKey(word string, further []string, hasKey bool) string {
	if key, rest, found := strings.Cut(word, ":"); found && rest != "" {
		if _, err := theory.ParseKey(key); err == nil {
			return key + ": " + rest
		}
	}
	if hasKey && !strings.HasSuffix(word, ":") {
		return ""
	}
	parts := keyWords.FindStringSubmatch(word)
	if parts == nil {
		return ""
	}
	mode := parts[2]
	if mode == "" && len(further) > 0 {
		mode = strings.ToLower(strings.TrimRight(further[0], ":"))
	}
	tonic := inLetters(parts[1])
	switch mode {
	case "m", "min", "minor", "Minor", "moll":
		tonic = strings.ToLower(tonic[:1]) + tonic[1:]
	case "maj", "major", "Major", "dur":
		tonic = strings.ToUpper(tonic[:1]) + tonic[1:]
	}
	if _, err := theory.ParseKey(tonic); err != nil {
		return ""
	}
	return tonic + ":"
}

// inLetters writes H, as B is called in some languages, as B.
func inLetters(note string) string {
	switch note[0] {
	case 'H':
		return "B" + note[1:]
	case 'h':
		return "b" + note[1:]
	}
	return note
}

// meantLine is the word that begins a line of notes which a word may be meant for.
func meantLine(word string) string {
	word = strings.TrimRight(strings.ToLower(word), ".:")
	switch word {
	case "melody", "tune", "treble":
		return "soprano"
	}
	for _, line := range []string{"bass", "soprano", "unfigured", "chords"} {
		if word == line || len(word) > 2 && near(word, line) {
			return line
		}
	}
	return ""
}

// near reports whether a word becomes another by one letter more, less or otherwise.
func near(word, other string) bool {
	if len(word) > len(other) {
		word, other = other, word
	}
	same := 0
	for same < len(word) && word[same] == other[same] {
		same++
	}
	switch len(other) - len(word) {
	case 0:
		return word[min(same+1, len(word)):] == other[min(same+1, len(other)):]
	case 1:
		return word[same:] == other[same+1:]
	}
	return false
}

// joins are signs with which chords are strung together, longer ones first.
var joins = []string{"->", "→", "–", "—", "-", ",", ";", ">"}

// digits are the degrees whose numerals are written as digits.
var digits = []string{"I", "II", "III", "IV", "V", "VI", "VII"}

// meantChords are the chords that a word may be meant for: a row that is strung together, a
// chord in brackets or quotes, a digit for a numeral, small letters for large ones, an l or a
// 1 for an I, a letter too many.
func (r *rowReader) meantChords(word string, further []string) []string {
	reads := func(w string) bool {
		_, err := readChord(w, r.key)
		return err == nil
	}
	if word == "/" && len(further) > 0 && len(r.progression.Chords) > 0 {
		if joined := r.progression.Chords[len(r.progression.Chords)-1].Text + "/" + further[0]; reads(joined) {
			return []string{joined + " as one word"}
		}
	}
	if strings.Trim(word, "|") == "" {
		return []string{"||"}
	}
	for _, sign := range joins {
		if row := strings.Split(word, sign); len(row) > 1 && !slices.ContainsFunc(row, func(w string) bool { return !reads(w) }) {
			return []string{strings.Join(row, " ")}
		}
	}
	candidates := []string{strings.Trim(word, `"'()[]“”.:`), strings.TrimRight(word, "/")}
	if len(word) == 1 && word[0] >= '1' && word[0] <= '7' {
		candidates = append(candidates, digits[word[0]-'1'])
	}
	candidates = append(candidates, strings.NewReplacer("l", "I", "1", "I").Replace(word))
	if strings.HasPrefix(word, "H") {
		candidates = append(candidates, "B"+word[1:])
	}
	if word != "" {
		candidates = append(candidates, strings.ToUpper(word[:1])+word[1:])
	}
	if head, _, found := strings.Cut(word, "/"); found {
		candidates = append(candidates, head)
	}
	for i := range word {
		candidates = append(candidates, word[:i]+word[i+1:])
	}
	return slices.DeleteFunc(candidates, func(w string) bool { return !reads(w) })
}

// lastNote is the note before, middle C at the beginning.
func (r *rowReader) lastNote() theory.Pitch {
	if n := len(r.basses); n > 0 {
		return r.basses[n-1].pitch
	}
	if n := len(r.progression.Chords); n > 0 {
		switch c := &r.progression.Chords[n-1]; {
		case len(c.Fixed) > 0 && c.Fixed[0] != nil:
			return *c.Fixed[0]
		case c.Bass != nil:
			return *c.Bass
		}
	}
	return theory.MustPitch("C4")
}

// noteThenFigures parts a note from what is written behind it without a stroke.
var noteThenFigures = regexp.MustCompile(`^([A-Ha-h](?:##?|bb?|x|♯|♭)?\d?)[\\:._( ,-]?([^)]*)\)?$`)

// meantBass are bass notes with figures that a word may be meant for: "F3:6" or "f3/6" for
// F3/6, "F/6" for the F that is nearest to the note before.
func meantBass(word string, before theory.Pitch) []string {
	name, figures, stroke := strings.Cut(word, "/")
	if !stroke {
		parts := noteThenFigures.FindStringSubmatch(word)
		if parts == nil {
			return nil
		}
		name, figures = parts[1], parts[2]
	}
	stacks, err := ParseStacks(figures)
	note := name
	if _, wrong := theory.ParsePitch(name); wrong != nil {
		note = meantNote(name, before)
	}
	if err != nil || note == "" || len(stacks) == 0 {
		return nil
	}
	if figures == "" {
		return []string{note}
	}
	return []string{note + "/" + figures}
}

// noteName is a note as some write it: with a small letter, H for B, or without an octave.
var noteName = regexp.MustCompile(`^([A-Ha-h])(##?|bb?|♯|♭|is|es)?(\d)?$`)

// meantNote is the note that a word may be meant for, in the octave nearest to the note
// before where it names none; "" where there is no such note.
func meantNote(word string, before theory.Pitch) string {
	parts := noteName.FindStringSubmatch(word)
	if parts == nil {
		return ""
	}
	name := inLetters(strings.ToUpper(parts[1])) + strings.NewReplacer("is", "#", "es", "b", "♯", "#", "♭", "b").Replace(parts[2])
	if parts[3] != "" {
		return readableNote(name + parts[3])
	}
	class, err := theory.ParsePitchClass(name)
	if err != nil {
		return ""
	}
	p := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: before.Octave}
	switch gap := p.Diatonic() - before.Diatonic(); {
	case gap > 3:
		p.Octave--
	case gap < -3:
		p.Octave++
	}
	return readableNote(p.String())
}

// readableNote is a note that can be read, "" for any other word.
func readableNote(word string) string {
	if _, err := theory.ParsePitch(word); err != nil {
		return ""
	}
	return word
}
