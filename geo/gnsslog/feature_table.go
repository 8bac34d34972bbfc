package gnsslog

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"lapwing/geo"
)

// A featureTable is points with attributes, written out as the lines of a CSV
// file; the line of a fix is the number of its feature.
type featureTable struct {
	names  []string
	from   []int // the attribute of each column after the first two
	rows   bytes.Buffer
	write  *csv.Writer
	record []string
}

// newFeatureTable begins a table of points with such attributes. Those named
// lat or lon give way to the geometry.
func newFeatureTable(attributes []string) *featureTable {
	t := &featureTable{names: []string{"longitude", "latitude"}}
	for i, name := range attributes {
		short, unit := normal(name)
		if r, _ := new(plan).roleOf(0, name, short, unit); r > roleLon {
			t.names, t.from = append(t.names, name), append(t.from, i)
		}
	}
	t.write = csv.NewWriter(&t.rows)
	t.record = make([]string, len(t.names))
	return t
}

// add writes a point, or where ok is false a feature without one.
func (t *featureTable) add(lon, lat float64, ok bool, value func(attribute int) string) error {
	t.record[0], t.record[1] = "", ""
	if ok {
		t.record[0], t.record[1] = strconv.FormatFloat(lon, 'f', -1, 64), strconv.FormatFloat(lat, 'f', -1, 64)
	}
	for k, i := range t.from {
		t.record[2+k] = oneLine(value(i))
	}
	return t.write.Write(t.record)
}

// read reads the table as the log of a file of some format.
func (t *featureTable) read(name, format string, notes []geo.Note, opt Options) (*Log, error) {
	t.write.Flush()
	p, err := planColumns(name, 0, ',', t.names, opt)
	if err != nil {
		return nil, err
	}
	log, troubles, records := readTable(p, t.rows.Bytes(), 1, opt)
	if err := troubles.verdict(name, len(log.Fixes), records); err != nil {
		return nil, err
	}
	log.Format = format
	log.NoClock = !p.has(roleTime)
	log.Understood = p.understood
	log.Notes = append(append(notes, p.notes...), troubles.notes()...)
	return log, nil
}

// oneLine is a value without line ends, so that a feature stays a line.
func oneLine(value string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, value)
}
