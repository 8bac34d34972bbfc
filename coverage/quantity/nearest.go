package quantity

import (
	"strings"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"
)

// Nearest returns the one of known that is likely to have been meant by word,
// or "" if none is near: at most one letter in four, and one more, may be
// wrong, and one of them must be right. Case does not matter; of equally near ones the first in the alphabet
// is taken, so that the answer is always the same.
func Nearest(word string, known []string) string {
	letters := utf8.RuneCountInString(word)
	best, bestAt := "", min(2+letters/4, max(1, letters))
	for _, k := range known {
		if letters-len(k) > bestAt { // at least so many letters are wrong; a long word is not worth the walk
			continue
		}
		d := levenshtein.ComputeDistance(strings.ToLower(word), strings.ToLower(k))
		if d < bestAt || d == bestAt && best != "" && k < best {
			best, bestAt = k, d
		}
	}
	return best
}
