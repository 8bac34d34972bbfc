package assess_test

import (
	"fmt"

	"lapwing/coverage/assess"
	"lapwing/coverage/job"
)

// A job is loaded, its field assessed, and asked for what summary.json says.
func ExampleDo() {
	j, err := job.Load("../../samples/tern-bank/job.yaml", job.Overrides{})
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := assess.Do(j, j.Field, assess.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := a.Summarize()
	fmt.Printf("%s: %.2f ha, %d passes\n", s.Field.Name, s.Field.Area.Float()/1e4, len(s.Passes))
	for _, skip := range s.Skips[:2] {
		fmt.Printf("skip %d, %.0f m², %s, %s\n", skip.ID, skip.Area.Float(), skip.Cause, skip.Place)
	}
	// Output:
	// Tern Bank, Pit Field: 11.66 ha, 46 passes
	// skip 1, 218 m², between passes, 596 ft from the west end of pass 22, left side
	// skip 2, 93 m², boundary edge, 509 ft from the west end of pass 3, right side
}
