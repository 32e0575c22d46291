package harmony

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
)

// LossError says what a label asks for that its chord would not have.
type LossError struct {
	Text string
	// Lost is what would be left out, such as "a ninth".
	Lost string
	// Instead is the label of the nearest chord that can stand as it is written.
	Instead string
}

// Error names the label, what it asks for and the smallest change.
func (e *LossError) Error() string {
	return fmt.Sprintf("%q asks for %s; chords are triads and sevenths, whole or without a member, as V7[no5]: write %s", e.Text, e.Lost, e.Instead)
}

// ExactNumeral reads a numeral as [ParseNumeral] does where the chord is all that the
// label says. Members that the label takes away, as in V7[no5], are in
// [Numeral.Without]. Any other chord that ParseNumeral would make simpler is a
// [*LossError]: ninths and above, suspensions, added and altered notes, and sevenths of
// a kind that no quality has.
func ExactNumeral(text string, mode theory.Mode) (Numeral, error) {
	n, err := ParseNumeral(text, mode)
	if err != nil {
		return n, err
	}
	bare, brackets := cutBrackets(text)
	head, target := cutApplied(strings.TrimRight(bare, "/"))
	lost := func(what, head string) (Numeral, error) {
		if target != "" {
			head += "/" + target
		}
		instead := head
		if nearest, err := ExactNumeral(head, mode); err != nil {
			instead = nearest.Text(mode)
		}
		return n, &LossError{text, what, instead}
	}
	if degree := strings.TrimRight(target, "0123456789"); degree != target {
		figures := target[len(degree):]
		target = degree
		return lost("figures "+figures+" after the degree that it is applied to", head)
	}
	if what, nearest := n.lostFigures(head); what != "" {
		return lost(what, nearest)
	}
	if !n.hasQuality(text, mode) {
		return n, &LossError{text, "a chord of a kind that is not voiced", n.Text(mode)}
	}
	for _, change := range brackets {
		member := slices.Index(membersLeftOut[:], change)
		if member < 0 || member >= n.Quality.Size() {
			return lost("["+change+"]", head)
		}
		if member == int(n.Inversion) {
			return n, &LossError{text, "a chord without its bass note", n.Text(mode)}
		}
		n.Without |= 1 << member
	}
	return n, nil
}

// lostFigures says what the figures of a label without its target ask for that no triad or
// seventh has, and the label that would stand; "" where they ask for no more.
func (n Numeral) lostFigures(head string) (what, nearest string) {
	_, rest := cutAccidentals(head)
	name, rest := cutName(rest)
	marks, figures := cutMarks(rest)
	plain, _ := strings.CutSuffix(figures, "+")
	front := strings.TrimSuffix(head, figures)
	if seventh, inversion := readFigures(figures); name == "N" && (seventh || len(marks) > 0) {
		return "a seventh or ninth, which no Neapolitan has", "N" + triadFigures[min(inversion, 2)]
	}
	switch digits := onlyDigits(figures); {
	case strings.Contains(digits, "13"):
		return "a thirteenth", front + "7"
	case strings.Contains(digits, "11"):
		return "an eleventh", front + "7"
	case strings.Contains(digits, "9"):
		return "a ninth", front + "7"
	case strings.ContainsAny(figures, "#bM") || strings.Contains(plain, "-") || strings.Contains(plain, "+"):
		return "an altered or moving figure", front + simpleFigures(digits)
	case n.Cadential && digits != "" && digits != "64":
		return "figures that no cadential six-four has", front + "64"
	case !slices.Contains(plainFigures, digits):
		return "a suspension", front + simpleFigures(digits)
	}
	return "", ""
}

// membersLeftOut are the words for chords without a member, by member.
var membersLeftOut = [4]string{"no1", "no3", "no5", "no7"}

// plainFigures are the digits of triads and sevenths, abbreviated and in full, and of the
// kinds of the augmented sixths (Open Music Theory v1, "Thoroughbass figures").
var plainFigures = []string{"", "3", "5", "8", "53", "83", "85", "853", "6", "63", "83", "863", "64", "864",
	"7", "75", "73", "753", "65", "653", "43", "643", "2", "42", "642", "62"}

// simpleFigures are those of the chord that figures are read as.
func simpleFigures(digits string) string {
	seventh, inversion := readFigures(digits)
	if seventh {
		return seventhFigures[inversion]
	}
	return triadFigures[inversion]
}

// cutBrackets takes what stands in brackets off a label.
func cutBrackets(text string) (bare string, inside []string) {
	bare = dropBrackets(text)
	for {
		_, rest, found := strings.Cut(text, "[")
		if !found {
			return bare, inside
		}
		change, after, _ := strings.Cut(rest, "]")
		inside, text = append(inside, strings.TrimSpace(change)), after
	}
}

// hasQuality reports whether the chord is of the kind that the marks ask for, not the
// commonest of those near it.
func (n Numeral) hasQuality(text string, mode theory.Mode) bool {
	head, _ := cutApplied(strings.TrimRight(dropBrackets(text), "/"))
	_, rest := cutAccidentals(head)
	name, rest := cutName(rest)
	if n.Cadential || n.Quality.IsAugmentedSixth() || name == "N" {
		return true
	}
	marks, figures := cutMarks(rest)
	if strings.HasSuffix(figures, "+") {
		marks = append(marks, "+")
	}
	seventh, _ := readFigures(figures)
	if n.IsApplied() {
		mode = n.Of.Mode
	}
	upper := name[0] < 'a'
	if upper && slices.Contains(marks, "m") && !seventh || !upper && slices.Contains(marks, "+") {
		return false
	}
	_, exact := n.readQuality(upper, marks, seventh, mode)
	return exact
}
