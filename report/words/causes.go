package words

import (
	"fmt"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/cause"
)

// Cause writes the cause of a skip or an overlap for people.
func Cause[C ~string](c C) string {
	switch string(c) {
	case "":
		return "cause not known"
	case string(cause.Unworked):
		return "not worked yet"
	}
	return string(c)
}

// InDoubt adds to the cause of a patch how sure the patch is, where no log says when the bar
// worked and what was made of its motion there is in doubt.
func InDoubt(why string, doubt float64) string {
	if !cause.InDoubt(doubt) {
		return why
	}
	return fmt.Sprintf("%s, %.0f %% sure since no log tells when the bar worked", why, 100*(1-doubt))
}

// WasteCause writes a cause of waste for people.
func WasteCause(c cause.OverlapCause) string {
	if c == agronomy.BeyondBoundary {
		return "outside the boundary"
	}
	if rule := cause.RuleOf(c); rule != nil {
		return rule.Waste
	}
	return Cause(c)
}

// Remedy says what ends a cause of waste.
func Remedy(c cause.OverlapCause) string {
	if c == agronomy.BeyondBoundary {
		return "shut off at the boundary"
	}
	if rule := cause.RuleOf(c); rule != nil {
		return rule.Remedy
	}
	return ""
}
