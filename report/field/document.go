package field

import "lapwing/coverage/assess"

// A Document is an assessment with the book it belongs to.
type Document struct {
	*assess.Assessment
	Book string // the season's page, from where this one is; "" where no season wrote it
}
