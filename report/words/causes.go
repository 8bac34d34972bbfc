package words

import (
	"lapwing/coverage"
	"lapwing/coverage/agronomy"
)

// Cause writes a cause for people.
func Cause(c coverage.Cause) string {
	switch c {
	case "":
		return "cause not known"
	case coverage.Unworked:
		return "not worked yet"
	}
	return string(c)
}

// WasteCause writes a cause of waste for people.
func WasteCause(c coverage.Cause) string {
	switch c {
	case agronomy.BeyondBoundary:
		return "outside the boundary"
	case coverage.Turn:
		return "in turns"
	case coverage.ReWorked:
		return "worked again"
	}
	return Cause(c)
}

// Remedy says what mends a cause of waste.
func Remedy(c coverage.Cause) string {
	switch c {
	case coverage.ReWorked:
		return "lift or shut off on ground already done"
	case coverage.RoundClosing:
		return "lift where the round began"
	case coverage.Turn:
		return "lift before the turn"
	case coverage.OntoHeadland:
		return "lift and lower at the edge of the headland"
	case coverage.PointRows:
		return "shut sections as the rows run out"
	case coverage.BetweenMachines:
		return "agree where one machine's ground ends and the next one's begins"
	case coverage.BetweenPasses:
		return "drive passes nearer to the full width apart"
	case agronomy.BeyondBoundary:
		return "shut off at the boundary"
	}
	return ""
}
