package report

import "lapwing/coverage/assess"

// A Report is an assessment with the book it belongs to.
type Report struct {
	*assess.Assessment
	Book string // the season's page, from where this one is; "" where no season wrote it
}
