package propose

import (
	"bytes"
	"fmt"
	"path/filepath"
	"regexp"
	"strings"

	"lapwing/coverage/job/spec"
	"lapwing/coverage/quantity"
)

// Text says in a line what a proposal is: the field, its days, its machines.
func (p *Proposal) Text(units quantity.Units) string {
	s := p.Field
	if p.Boundary == nil {
		s += ", no boundary given"
	} else if m2 := p.Boundary.Area(); units == quantity.US {
		s += fmt.Sprintf(", %.1f ac", m2/quantity.Acre)
	} else {
		s += fmt.Sprintf(", %.1f ha", m2/quantity.Hectare)
	}
	const day = "2006-01-02"
	switch from, to := p.From.Format(day), p.To.Format(day); {
	case p.From.IsZero():
	case from == to:
		s += ", " + from
	default:
		s += fmt.Sprintf(", %s to %s", from, to)
	}
	var machines []string
	for _, m := range p.Machines() {
		machines = append(machines, m.Text())
	}
	return spec.OneLine(s + "; " + strings.Join(machines, ", "))
}

// Text says in a few words what a machine is: its name and its width.
func (m *Machine) Text() string {
	for _, l := range m.Implement {
		switch {
		case l.Key != "width":
		case l.Sure == Unknown:
			return m.Name + " (width to fill in)"
		case l.Sure != Told:
			return m.Name + " (" + l.Text + ", a guess)"
		default:
			return m.Name + " (" + l.Text + ")"
		}
	}
	return m.Name
}

// lineOf is the line of a file, as a reason begins with it.
var lineOf = regexp.MustCompile(`^line \d+: `)

// LeftText says in lines what has no place in a job, those of one reason
// together.
func (s *Season) LeftText() (lines []string) {
	const most, together = 8, 3 // names in a line; of fewer each has its line
	names, first := map[string][]string{}, map[string]string{}
	var order []string
	for _, l := range s.Left {
		why, name := l.Why, l.Path
		if l.Other && why != hidden {
			why = "no log, no boundary and no task set"
		}
		// The line of the file matters only where it is of one file.
		key := lineOf.ReplaceAllString(why, "")
		if names[key] == nil {
			order = append(order, key)
		}
		names[key], first[key] = append(names[key], name), why
	}
	for _, why := range order {
		its := names[why]
		n := len(its)
		if n >= together {
			for i := range its {
				its[i] = filepath.Base(its[i])
			}
		}
		if n < together {
			for _, name := range its {
				if n == 1 {
					why = first[why]
				}
				lines = append(lines, spec.OneLine(name+": "+why))
			}
			continue
		}
		text := strings.Join(its[:min(n, most)], ", ")
		if n > most {
			text += fmt.Sprintf(" and %d more", n-most)
		}
		lines = append(lines, spec.OneLine(text+": "+why))
	}
	return lines
}

// LineOf is the line of the implement file that a question is about, from 1.
func (s *Season) LineOf(q Question) int {
	var b bytes.Buffer
	if err := s.ImplementFile(q.Machine).Write(&b); err != nil {
		return 0
	}
	for i, line := range strings.Split(b.String(), "\n") {
		if strings.HasPrefix(line, q.About+":") {
			return i + 1
		}
	}
	return 0
}
