package words

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/quantity"
)

// Count writes n things: "1 skip", "3 skips", "no skips".
func Count(n int, one string) string {
	switch n {
	case 0:
		return "no " + many(one)
	case 1:
		return "1 " + one
	}
	return quantity.Number(float64(n), 0) + " " + many(one)
}

// Plural is the word for n things, without the number.
func Plural(n int, one string) string {
	if n == 1 {
		return one
	}
	return many(one)
}

func many(one string) string {
	if strings.HasSuffix(one, "s") || strings.HasSuffix(one, "ch") {
		return one + "es"
	}
	return one + "s"
}

// Share writes part of whole in per cent.
func Share(part, whole float64) string {
	if whole <= 0 {
		return ""
	}
	switch p := part / whole * 100; {
	case p == 0:
		return "0 %"
	case p < 0.05:
		return "under 0.1 %"
	case p < 100 && p >= 99.95:
		return "99.9 %" // whole only when it is
	case p == 100:
		return "100 %"
	default:
		return quantity.Number(p, 1) + " %"
	}
}

// Percent writes a share in whole per cent.
func Percent(v float64) string { return quantity.Number(100*v, 0) + " %" }

// Hours writes hours and minutes.
func Hours(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	return fmt.Sprintf("%d:%02d", minutes/60, minutes%60)
}

// Capital begins a sentence.
func Capital(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Passes writes "pass 4" or "passes 3, 4 and 7".
func Passes(ids []int) string {
	if len(ids) == 0 {
		return "no pass"
	}
	s := "pass "
	if len(ids) > 1 {
		s = "passes "
	}
	for i, id := range ids {
		switch {
		case i == 0:
		case i == len(ids)-1:
			s += " and "
		default:
			s += ", "
		}
		s += strconv.Itoa(id)
	}
	return s
}
