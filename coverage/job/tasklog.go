package job

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"lapwing/coverage/quantity"
	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/taskdata"
)

// The names under which what a task set tells of a machine stands in messages.
const (
	workStateName    = "work state"
	sectionStateName = "section states"
	actualWidthName  = "actual working width"
)

// columnsOfTrack lays out what one device did in a log of a task set as the
// columns of any other log, so that one reading serves all of them.
func columnsOfTrack(t *taskdata.Track) columns {
	log := &gnsslog.Log{Format: "ISO 11783-10", Fixes: t.Fixes, NoClock: t.NoClock}
	if t.Zoneless {
		log.Zoneless = len(t.Fixes)
	}
	for _, text := range t.Notes {
		log.Notes = append(log.Notes, geo.Note{Count: 1, Text: text})
	}
	var cols []gnsslog.Column
	if t.Working != nil {
		cols = append(cols, workColumn(t.Working))
	}
	n := t.Bar.Count
	if sections := len(t.Bar.Sections); t.State != nil && n > 0 && (sections == 0 || sections == n) {
		cols = append(cols, stateColumn(t, n))
	} else if t.Widths != nil {
		cols = append(cols, widthColumn(t.Widths, len(t.Fixes)))
	}
	log.Columns = cols
	c := columns{file: t.File, log: log, widthUnit: "mm"}
	for i := range cols {
		switch cols[i].Name {
		case workStateName:
			c.working = &cols[i]
		case sectionStateName:
			c.sections = &cols[i]
		case actualWidthName:
			c.width = &cols[i]
		}
	}
	return c
}

func workColumn(working []bool) gnsslog.Column {
	col := gnsslog.Column{Name: workStateName, Distinct: []string{"0", "1"}, Codes: make([]uint32, len(working))}
	for i, on := range working {
		if on {
			col.Codes[i] = 1
		}
	}
	return col
}

// stateColumn writes each state of n sections as "1" and "0" from left to
// right.
func stateColumn(t *taskdata.Track, n int) gnsslog.Column {
	col := gnsslog.Column{Name: sectionStateName, Codes: t.State}
	for _, s := range t.States {
		text := make([]byte, n)
		for i := range text {
			text[i] = '0'
			if s.On(i) {
				text[i] = '1'
			}
		}
		col.Distinct = append(col.Distinct, string(text))
	}
	return col
}

// appliedUnits are the entries of the data dictionary that say what was put
// down by area, and the unit of one in their values.
var appliedUnits = map[taskdata.DDI]quantity.Value{
	taskdata.ActualVolumePerArea: {Kind: quantity.VolumeRate, SI: 0.01e-9}, // 0.01 mm³/m²
	taskdata.ActualMassPerArea:   {Kind: quantity.MassRate, SI: 1e-6},      // mg/m²
	taskdata.ActualCountPerArea:  {Kind: quantity.SeedRate, SI: 0.001},     // 0.001/m²
}

// addRates makes columns of the rates that a log of a task set tells of the
// bar as a whole, or of its bins; each bears the name of its element.
func (c *columns) addRates() {
	device := c.by.set.Device(c.by.track.Device)
	if device == nil {
		return
	}
	left := 0
	for _, v := range c.by.track.Rates {
		unit, ok := appliedUnits[v.DDI]
		if !ok {
			continue
		}
		at := slices.IndexFunc(device.Elements, func(e taskdata.Element) bool { return e.ID == v.Element })
		element := &device.Elements[at]
		if element.Type == taskdata.SectionElement {
			left++
			continue
		}
		meaning, _ := v.DDI.Meaning()
		of, _ := plainName(element.Name)
		if element.Type != taskdata.BinElement {
			of = ""
		}
		col := valueColumn(v, len(c.log.Fixes), math.MaxInt32)
		col.Name = strings.TrimSpace(meaning.Name + " " + element.ID + " " + element.Name)
		c.log.Columns = append(c.log.Columns, col)
		c.rates = append(c.rates, rateColumn{column: &col, unit: unit, of: of})
	}
	if left > 0 {
		c.log.Notes = append(c.log.Notes, geo.Note{Count: left, Text: "a rate of one section; left out, since only rates of the whole bar or of a bin are taken"})
	}
}

// mostWidth is the most that a width in a log can mean; more is what a device
// writes where it does not know.
const mostWidth = 1_000_000 // mm

// widthColumn writes the widths of the bar, "" where none is known.
func widthColumn(v *taskdata.Values, fixes int) gnsslog.Column {
	col := valueColumn(v, fixes, mostWidth)
	col.Name = actualWidthName
	return col
}

// valueColumn writes raw values up to the most that they can mean, and "" where
// there is none.
func valueColumn(v *taskdata.Values, fixes int, most int32) gnsslog.Column {
	col := gnsslog.Column{Distinct: []string{""}, Codes: make([]uint32, fixes)}
	seen := map[int32]uint32{}
	code, next := uint32(0), 0
	for i := range fixes {
		for next < len(v.Records) && int(v.Records[next]) <= i {
			raw := v.Raw[next]
			next++
			if raw < 0 || raw > most {
				code = 0
				continue
			}
			var known bool
			if code, known = seen[raw]; !known {
				code = uint32(len(col.Distinct))
				seen[raw] = code
				col.Distinct = append(col.Distinct, strconv.Itoa(int(raw)))
			}
		}
		col.Codes[i] = code
	}
	return col
}
