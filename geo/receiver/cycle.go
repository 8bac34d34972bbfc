package receiver

import "time"

// A part is what one message adds to an epoch: the type of a sentence, or
// which of its values a report of gpsd has.
type part uint8

const (
	partGGA part = iota
	partRMC
	partGNS
	partVTG
	partHDT
	partGST
	partTPV // of a TPV without speed and course; plus 1 with speed, plus 2 with course
)

// parts is a set of them.
type parts uint16

func (s parts) has(p part) bool   { return s&(1<<p) != 0 }
func (s parts) all(of parts) bool { return s&of == of }

// A cycle learns in which order the parts of an epoch come, so that an epoch
// can be told with its last part instead of with the first of the next epoch.
// Receivers repeat one cycle of sentences, most with all sentences in each
// epoch, some with one of them only once a second.
type cycle struct {
	now    parts // of the epoch at hand
	last   part  // the newest of them
	recent [3]parts
	ended  int
	tail   part // with which epochs have ended
	streak int  // so many in a row
	need   int  // the streak that is asked for
	step   time.Duration
}

const (
	// firstStreak is how many epochs in a row must have ended alike before
	// their end is believed: a sentence that comes once a second is met within
	// 20 epochs at 20 Hz, the fastest asked for (TestCycleMixedRates).
	firstStreak = 20
	// mostStreak bounds the doubling: five minutes at 20 Hz. Judgement; no test holds it
	// closely.
	mostStreak = 6000
)

// part notes the next part of the epoch at hand.
func (c *cycle) part(p part) {
	c.now |= 1 << p
	c.last = p
}

// end closes the epoch at hand.
func (c *cycle) end() {
	if c.now == 0 { // a date alone
		return
	}
	c.recent[c.ended%len(c.recent)] = c.now
	c.ended++
	if c.last != c.tail {
		c.tail, c.streak = c.last, 0
	}
	c.streak++
	c.now = 0
}

// late notes a part that came after its epoch was told. The cycle is longer
// than it seemed, so twice as many epochs are watched before the next try.
func (c *cycle) late() {
	c.streak = 0
	c.need = min(2*max(c.need, firstStreak), mostStreak)
}

// whole reports whether the epoch at hand has all parts that each of the last
// epochs had.
func (c *cycle) whole() bool {
	usual := c.recent[0] & c.recent[1] & c.recent[2] // 0, and so no demand, before the third
	return c.now.all(usual)
}

// final reports whether the newest part is the last of its epoch.
func (c *cycle) final() bool {
	return c.now != 0 && c.last == c.tail && c.streak >= max(c.need, firstStreak) && c.whole()
}

// stepped notes the time between two epochs.
func (c *cycle) stepped(step time.Duration) {
	const most = 10 * time.Second // more is a silence, no interval
	if step > 0 && step <= most {
		c.step = step
	}
}

const (
	// mostQuiet is the silence after which a whole epoch is told where the
	// interval is unknown or long: at 4800 baud, the slowest in use, a sentence
	// of 82 characters takes 171 ms (TestSlowPort).
	mostQuiet = 200 * time.Millisecond
	// leastQuiet is above the 16 ms for which common USB adapters hold back
	// bytes (the latency timer's default in the Linux driver ftdi_sio).
	leastQuiet = 18 * time.Millisecond
	// longestWait is how long an epoch that lacks a usual part waits for it;
	// that a page can say "no signal for 3 s" in time leaves no more. No test fails where
	// it is halved or doubled.
	longestWait = time.Second
)

// wait is how long the line must be silent before the epoch at hand is told.
func (c *cycle) wait() time.Duration {
	if !c.whole() {
		return longestWait
	}
	return c.quiet()
}

// quiet is the silence that parts one cycle from the next.
func (c *cycle) quiet() time.Duration {
	if c.step == 0 {
		return mostQuiet
	}
	return max(leastQuiet, min(c.step*2/5, mostQuiet))
}
