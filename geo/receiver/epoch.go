package receiver

import (
	"time"

	"lapwing/geo"
)

// An Epoch is what a receiver said of one moment.
type Epoch struct {
	// Fix is its position with its time. Its Heading is the true heading where
	// the receiver gives one (HDT), otherwise the course over ground; its Row is 0.
	geo.Fix
	// Error is how far the receiver thinks the position may be off, in metres:
	// one standard deviation in the plane where it comes from GST, and of no
	// stated confidence where it comes from gpsd. NaN where it does not say.
	Error float64
	// Working and Sections are what a played log says in its columns of these
	// names; "" where it does not say, and for all other sources.
	Working, Sections string
	// Arrived is when the last part of the epoch came.
	Arrived time.Time
}

// Counts are what a source has sent since it was first opened.
type Counts struct {
	Bytes     int64
	Sentences int // whole ones with the right checksum, of any type; of a gpsd, its reports
	Epochs    int
	NoFix     int // messages that said that the receiver had no position
	Late      int // parts that came after their epoch had been told
	// Refused, by reason.
	WrongChecksum int
	CutShort      int // sentences without an end: no checksum, or another began within
	WrongFields   int // sentences whose fields are not as in the standard
	TooLong       int // longer than any sentence
	// OutOfOrder counts epochs that came again, or after a newer one, over UDP: a network
	// may double its datagrams and change their order.
	OutOfOrder int
}

// Refused is how many sentences were not believed, and how many epochs came out of order.
func (c Counts) Refused() int {
	return c.WrongChecksum + c.CutShort + c.WrongFields + c.TooLong + c.OutOfOrder
}
