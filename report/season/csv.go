package season

import (
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/assess"
	"lapwing/coverage/figure"
	"lapwing/report"
)

// A namedValue is one column of a line; SI units, "" where it is not known.
type namedValue struct{ name, value string }

func plainFigure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// fieldValues are the columns of season.csv and of the fields in the
// GeoPackage.
func (s *Book) fieldValues(entry *Entry) []namedValue {
	machines, operators := entry.names()
	if s.NoOperators {
		operators = nil
	}
	g := &entry.Ground
	when := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.UTC().Format(time.RFC3339)
	}
	optional := func(v float64, known bool) string {
		if !known {
			return ""
		}
		return plainFigure(v)
	}
	completion := ""
	if c := float64(entry.Headland.Completion); !math.IsNaN(c) {
		completion = plainFigure(c)
	}
	season := ""
	if of := s.yearOf(entry); of > 0 {
		season = strconv.Itoa(of)
	}
	values := []namedValue{
		{"sheet", strconv.Itoa(entry.Number)}, {"season", season}, {"field", entry.Name()}, {"job", entry.Job}, {"report", entry.Dir + "/report.html"},
		{"first_work", when(entry.first)}, {"last_work", when(entry.last)},
		{"machines", strings.Join(machines, "; ")}, {"operators", strings.Join(operators, "; ")},
		{"area_m2", plainFigure(entry.Field.Area.Float())}, {"perimeter_m", plainFigure(float64(entry.Field.Perimeter))},
		{"covered_m2", plainFigure(g.Covered.Float())}, {"skip_m2", plainFigure(g.Skip.Float())}, {"remainder_m2", plainFigure(g.Remainder.Float())},
		{"skips", strconv.Itoa(entry.skips())}, {"to_go_back_m2", plainFigure(entry.toGoBackFor())}, {"overlap_m2", plainFigure(g.Overlap.Float())}, {"excess_m2", plainFigure(g.Excess.Float())},
		{"overreach_m2", plainFigure(g.OverReach.Float())}, {"unlogged_m2", plainFigure(g.Unlogged.Float())}, {"swept_m2", plainFigure(g.Swept.Float())},
		{"headland_completion", completion}, {"edge_m", plainFigure(float64(entry.Headland.Edge.Length))}, {"edge_open_m", plainFigure(entry.open())},
		{"n_wasted_kg", optional(entry.nitrogen())}, {"efficiency", optional(entry.efficiency())},
	}
	cost := entry.cost()
	for _, c := range s.currencies() {
		v, known := cost[c]
		values = append(values, namedValue{"wasted_" + c, optional(v, known)})
	}
	return append(values, namedValue{"warnings", strconv.Itoa(len(entry.Warnings))}, namedValue{"lapwing_run", entry.Run})
}

// currencies are those of all entries.
func (s *Book) currencies() []string {
	all := purse{}
	for _, entry := range s.Entries {
		all.add(entry.cost())
	}
	return all.currencies()
}

// CSV writes season.csv: a line a field, SI units.
func (s *Book) CSV(w io.Writer) error {
	return writeCSV(w, s.run(), s.Entries, s.fieldValues)
}

// A fieldMachine is one machine on one field.
type fieldMachine struct {
	entry   *Entry
	machine assess.MachineSummary
}

func (s *Book) machineLines() []fieldMachine {
	var out []fieldMachine
	for _, entry := range s.Entries {
		for _, m := range entry.Machines {
			out = append(out, fieldMachine{entry, m})
		}
	}
	return out
}

// machineValues are the columns of season-machines.csv.
func (s *Book) machineValues(line fieldMachine) []namedValue {
	var swept, fresh, lapped, length float64
	passes := 0
	for i := range line.entry.Passes {
		if p := &line.entry.Passes[i]; p.Machine == line.machine.Name {
			passes++
			swept, fresh, lapped, length = swept+p.Swept.Float(), fresh+p.New.Float(), lapped+p.Overlap.Float(), length+float64(p.Length)
		}
	}
	values := []namedValue{
		{"sheet", strconv.Itoa(line.entry.Number)}, {"field", line.entry.Name()}, {"machine", line.machine.Name}, {"operator", s.operator(line.entry, line.machine.Name)},
		{"passes", strconv.Itoa(passes)}, {"length_m", plainFigure(length)},
		{"swept_m2", plainFigure(swept)}, {"new_m2", plainFigure(fresh)}, {"overlap_m2", plainFigure(lapped)},
	}
	i := slices.IndexFunc(line.entry.Times, func(t assess.TimeSummary) bool { return t.Machine == line.machine.Name })
	spent := []string{"", "", "", "", "", ""}
	if i >= 0 {
		t := &line.entry.Times[i]
		var e effort
		e.add(t)
		spent = []string{plainFigure(float64(t.Working)), plainFigure(float64(t.Turning)), plainFigure(float64(t.Standing)), plainFigure(float64(t.Stopped)), plainFigure(float64(t.Travelling)), ""}
		if share, known := e.efficiency(); known {
			spent[5] = plainFigure(share)
		}
	}
	for k, name := range []string{"working_s", "turning_s", "standing_s", "stopped_s", "travelling_s", "efficiency"} {
		values = append(values, namedValue{name, spent[k]})
	}
	return append(values, namedValue{"lapwing_run", line.entry.Run})
}

// MachinesCSV writes season-machines.csv: a line for each machine on each
// field, SI units.
func (s *Book) MachinesCSV(w io.Writer) error {
	return writeCSV(w, s.run(), s.machineLines(), s.machineValues)
}

// lapValues are the columns of season-laps.csv, and of an operator's own table.
func (s *Book) lapValues(p drivenPass, operator string) []namedValue {
	known := func(v figure.Metres) string {
		if math.IsNaN(float64(v)) {
			return ""
		}
		return plainFigure(float64(v))
	}
	l := &p.Lap
	return []namedValue{
		{"operator", operator}, {"day", p.Day}, {"start", p.Start}, {"sheet", strconv.Itoa(p.entry.Number)}, {"field", p.entry.Name()}, {"pass", strconv.Itoa(p.ID)},
		{"machine", p.Machine}, {"kind", p.Kind}, {"length_m", known(p.Length)}, {"lap_along_m", known(l.Along)},
		{"lap_aimed_m", known(l.Aimed)}, {"lap_planned", strconv.FormatBool(l.Planned)}, {"lap_mean_m", known(l.Mean)}, {"lap_spread_m", known(l.Spread)},
		{"lap_receiver_m", known(l.Receiver)}, {"lap_left_along_m", known(l.Left.Along)}, {"lap_left_mean_m", known(l.Left.Mean)},
		{"lap_right_along_m", known(l.Right.Along)}, {"lap_right_mean_m", known(l.Right.Mean)}, {"lapwing_run", p.entry.Run},
	}
}

// LapsCSV writes season-laps.csv: a line for each pass, SI units.
func (s *Book) LapsCSV(w io.Writer) error {
	var passes []drivenPass
	for _, entry := range s.Entries {
		for i := range entry.Passes {
			passes = append(passes, drivenPass{entry, &entry.Passes[i]})
		}
	}
	return writeCSV(w, s.run(), passes, func(p drivenPass) []namedValue { return s.lapValues(p, s.operator(p.entry, p.Machine)) })
}

// CSV writes the operator's own table: a line for each pass, SI units.
func (o *operator) CSV(w io.Writer) error {
	return writeCSV(w, o.run(), o.passes, func(p drivenPass) []namedValue { return o.lapValues(p, p.entry.operator(p.Machine)) })
}

// writeCSV writes a line for each thing, under a head. The run of the book is
// beside that of the entry.
func writeCSV[T any](w io.Writer, run string, things []T, values func(T) []namedValue) error {
	lines := [][]string{{"lapwing_run", "book_run"}}
	for _, thing := range things {
		var names, line []string
		for _, v := range append(values(thing), namedValue{"book_run", run}) {
			names, line = append(names, v.name), append(line, v.value)
		}
		lines[0] = names
		lines = append(lines, line)
	}
	return report.WriteCSV(w, run, lines)
}
