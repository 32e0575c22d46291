// Package spelling finds what a mistyped name was meant to be.
package spelling

import (
	"fmt"
	"strings"
)

// DidYouMean is a clause to put after a word that is none of the names, such as
// ", did you mean parallel-fifths?"; "" where no name is near.
func DidYouMean(word string, names []string) string {
	if name := Nearest(word, names); name != "" {
		return fmt.Sprintf(", did you mean %s?", name)
	}
	return ""
}

// maxWord bounds the words that are compared with names, in bytes: nobody mistypes a
// name at such length, and the work grows with it.
const maxWord = 64

// Nearest returns the name that takes the fewest slips to become the word, the first of
// several; "" where all take more than one slip for every three letters, or where the word is
// long. A name that begins the word, or is begun by it, counts as one slip.
func Nearest(word string, names []string) string {
	if len(word) > maxWord {
		return ""
	}
	word = strings.ToLower(word)
	best, least := "", max(len([]rune(word))/3, 1)+1
	for _, name := range names {
		folded := strings.ToLower(name)
		slips := Slips(word, folded)
		if len(word) > 2 && len(folded) > 2 && (strings.HasPrefix(folded, word) || strings.HasPrefix(word, folded)) {
			slips = min(slips, 1)
		}
		if slips < least {
			best, least = name, slips
		}
	}
	return best
}

// Slips counts the letters that were left out, put in, or taken for another, and the
// neighbors that were exchanged, to make one word of the other: the distance of
// Damerau, "A technique for computer detection and correction of spelling errors" (1964),
// with no letter changed twice.
func Slips(a, b string) int {
	from, to := []rune(a), []rune(b)
	// Three rows of the table: that of the letter before the last, the last, and this.
	before, last, row := make([]int, len(to)+1), make([]int, len(to)+1), make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i := range from {
		before, last, row = last, row, before
		row[0] = i + 1
		for j := range to {
			other := 1
			if from[i] == to[j] {
				other = 0
			}
			row[j+1] = min(last[j]+other, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && from[i] == to[j-1] && from[i-1] == to[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
	}
	return row[len(to)]
}
