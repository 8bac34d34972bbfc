package coverage

// A Machine is a tractor or self-propelled unit with its implement and the
// tracks it logged. Machines of one field have distinct names.
type Machine struct {
	Name      string
	Operator  string // "" where nobody said
	Implement Implement
	Tracks    []Track
	Working   WorkingRule
}

// A WorkingRule says where a machine's working state comes from.
type WorkingRule int

// The rules.
const (
	// Logged takes each fix's Working as the log has it. Tracks without a
	// working column ([Track.WorkingLogged] false) are inferred all the same.
	Logged WorkingRule = iota
	// Inferred works the state out from the motion and ignores the log's.
	Inferred
)
