package assess

import (
	"fmt"
	"slices"

	"lapwing/coverage/agronomy"
	"lapwing/coverage/beside"
	"lapwing/coverage/job"
	"lapwing/geo/plane"
)

// A LastQuestion asks how a pass joined its neighbours: the one of a number, or
// the last of a machine, or of each.
type LastQuestion struct {
	Machine int   // index into Map.Machines; -1 for each
	Among   []int // of these alone, where Machine is -1; nil for all
	Pass    *int  // the pass's ID; nil for the last one
	// GoingBack is what going back to a skip costs, see [MendQuestion].
	GoingBack agronomy.GoingBack
}

// A LastPass is a pass with its two sides.
type LastPass struct {
	ID          int
	Left, Right beside.Seam
	Stands      plane.Point // where the machine's log ends
}

// LastPasses answers a question, the latest pass first.
func (a *Assessment) LastPasses(q LastQuestion) ([]LastPass, error) {
	ids, err := a.askedAbout(q)
	if err != nil {
		return nil, err
	}
	passes := make([]LastPass, len(ids))
	for i, id := range ids {
		p := &passes[i]
		p.ID = id
		p.Left, p.Right = a.Map.Seams(id, a.Map.Headland.Edge.Tolerance)
		p.Stands = a.Map.Stopped(a.Map.Passes[id-1].Machine)
	}
	return passes, nil
}

// askedAbout returns the IDs of the passes that are asked about.
func (a *Assessment) askedAbout(q LastQuestion) ([]int, error) {
	m := a.Map
	if q.Pass != nil {
		id := *q.Pass
		if len(m.Passes) == 0 {
			return nil, &job.InputError{Where: "--pass", Found: fmt.Sprintf("found %d", id), Want: "a log with a pass on this field, which has none yet"}
		}
		if id < 1 || id > len(m.Passes) {
			return nil, &job.InputError{Where: "--pass", Found: fmt.Sprintf("found %d", id), Want: fmt.Sprintf("1 to %d, the passes of this field", len(m.Passes))}
		}
		if p := &m.Passes[id-1]; q.Machine >= 0 && p.Machine != q.Machine {
			return nil, &job.InputError{Where: "--pass", Found: fmt.Sprintf("found %d, a pass of %s", id, m.Machines[p.Machine].Name), Want: "a pass of " + m.Machines[q.Machine].Name}
		}
		return []int{id}, nil
	}
	var ids []int
	latest := m.LastAtWork()
	if q.Machine < 0 && q.Among != nil {
		latest = m.LastAmong(q.Among)
	}
	for i := range m.Machines {
		if q.Machine >= 0 && i != q.Machine || q.Machine < 0 && q.Among != nil && !slices.Contains(q.Among, i) {
			continue
		}
		p := m.LastPass(i)
		switch {
		case p == nil:
		case i == latest:
			ids = append([]int{p.ID}, ids...)
		default:
			ids = append(ids, p.ID)
		}
	}
	return ids, nil
}
