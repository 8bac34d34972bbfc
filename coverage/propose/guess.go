package propose

// Sureness is how well something proposed is known.
type Sureness int

// How sure a proposed value is.
const (
	Unknown Sureness = iota // no file tells, and a job needs it: a person has to say
	Guessed                 // taken for want of better; a person should look
	Likely                  // worked out from what was driven, within the bounds that stand beside it
	Told                    // a file says so, or the call
)

// A Guess is a proposed value, as it stands in a file, and where it is from.
type Guess struct {
	Text string // "40 ft"; of an unknown value the best there is, or ""
	Sure Sureness
	Why  string // in words, without a full stop
}

// mark is the guess's reason as a comment: GUESS for what a person should look at.
func (g Guess) mark() string {
	switch g.Sure {
	case Told:
		return "seen: " + g.Why
	case Likely, Guessed:
		return "GUESS: " + g.Why
	}
	return "FILL IN: " + g.Why
}

// A Line is a key of a file and its value.
type Line struct {
	Key string
	Guess
}
