package receiver

import "time"

// A stream is what [NMEA] and [GPSD] share: epochs that are put together, and when.
type stream struct {
	asm    assembler
	counts Counts
	now    time.Time // of the last call
}

// begin forgets the epochs that were returned, and goes on to a time.
func (s *stream) begin(now time.Time) {
	s.now = now
	s.asm.out = s.asm.out[:0]
	s.asm.tick(now)
}

// Tick returns the epochs that are complete because of the silence since what came
// last.
func (s *stream) Tick(now time.Time) []Epoch {
	s.begin(now)
	return s.asm.out
}

// Due is when Tick next has an epoch to tell; false while there is none.
func (s *stream) Due() (time.Time, bool) { return s.asm.due() }

// Counts returns what has come so far.
func (s *stream) Counts() Counts { return s.counts }
