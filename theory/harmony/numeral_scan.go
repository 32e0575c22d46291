package harmony

import "strings"

func dropBrackets(s string) string {
	for {
		open := strings.IndexByte(s, '[')
		if open < 0 {
			return strings.TrimSpace(s)
		}
		end := strings.IndexByte(s[open:], ']')
		if end < 0 {
			return strings.TrimSpace(s[:open])
		}
		s = s[:open] + s[open+end+1:]
	}
}

// cutApplied splits at the first stroke that a degree follows: "V6/5/V" is
// "V6/5" of "V".
func cutApplied(s string) (head, target string) {
	for i := 0; i+1 < len(s); i++ {
		if s[i] != '/' {
			continue
		}
		_, rest := cutAccidentals(s[i+1:])
		if rest != "" && strings.IndexByte("NIViv", rest[0]) >= 0 {
			return s[:i], s[i+1:]
		}
	}
	return s, ""
}

func cutAccidentals(s string) (alter int, rest string) {
	for s != "" {
		switch s[0] {
		case '#':
			alter++
		case 'b', '-':
			alter--
		default:
			return alter, s
		}
		s = s[1:]
	}
	return alter, s
}

var numeralNames = []string{"It", "Fr", "Ger", "Cad", "N", "VII", "VI", "V", "IV", "III", "II", "I",
	"vii", "vi", "v", "iv", "iii", "ii", "i"}

func cutName(s string) (name, rest string) {
	for _, name := range numeralNames {
		if strings.HasPrefix(s, name) && len(name) >= longestName(s) {
			return name, s[len(name):]
		}
	}
	return "", s
}

// longestName keeps IV from being read as I: the list is not in order of length.
func longestName(s string) int {
	longest := 0
	for _, name := range numeralNames {
		if len(name) > longest && strings.HasPrefix(s, name) {
			longest = len(name)
		}
	}
	return longest
}

func romanDegree(name string) int8 {
	for i, roman := range romans {
		if i > 0 && strings.EqualFold(name, roman) {
			return int8(i)
		}
	}
	return 0
}

var qualityMarks = []struct{ written, mark string }{
	{"/o", "ø"}, {"ø", "ø"}, {"Ø", "ø"}, {"%", "ø"}, {"o", "o"}, {"°", "o"}, {"º", "o"},
	{"+", "+"}, {"maj", "maj"}, {"M", "maj"}, {"m", "m"}, {"d", "d"},
}

func cutMarks(s string) (marks []string, rest string) {
next:
	for {
		for _, q := range qualityMarks {
			if strings.HasPrefix(s, q.written) {
				marks, s = append(marks, q.mark), s[len(q.written):]
				continue next
			}
		}
		return marks, s
	}
}

func onlyDigits(s string) string {
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

// readFigures tells whether figures mean a seventh chord, and its inversion.
func readFigures(s string) (seventh bool, inversion int8) {
	digits := onlyDigits(s)
	for _, high := range []string{"13", "11"} {
		digits = strings.Replace(digits, high, "9", 1)
	}
	has := func(d string) bool { return strings.Contains(digits, d) }
	switch {
	case has("7") || has("9"):
		return true, 0
	case has("6") && has("5"):
		return true, 1
	case has("4") && has("3"):
		return true, 2
	case digits == "2" || has("2") && (has("4") || has("6")) && !has("5"):
		return true, 3
	case has("6") && has("4"):
		return false, 2
	case has("6"):
		return false, 1
	}
	return false, 0 // 54, 4, 532: a suspension over the root
}
