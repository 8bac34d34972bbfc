package coverage

// A Cause is why a patch of ground was skipped or worked twice, in the
// trade's words. "" means not looked into.
type Cause string

// Causes of a skip, in the order they are tried: the first that fits is it.
const (
	Plugged       Cause = "plugged"
	MissedPass    Cause = "missed pass"
	BoundaryEdge  Cause = "boundary edge"
	LoweredLate   Cause = "lowered late"
	LiftedEarly   Cause = "lifted early"
	AngledEnd     Cause = "angled end"
	BetweenPasses Cause = "between passes" // of an overlap too
	Unworked      Cause = "unworked"
)

// Causes of an overlap, in the order they are tried.
const (
	ReWorked        Cause = "re-worked"
	RoundClosing    Cause = "round closing"
	Turn            Cause = "turn"
	OntoHeadland    Cause = "onto headland"
	PointRows       Cause = "point rows"
	BetweenMachines Cause = "between machines"
)
