// Package gnsslog reads logs of GNSS receivers and machines.
//
// Each format has a file of its own and a function that reads it: [ReadCSV],
// [ReadGPX], [ReadNMEA], [ReadGeoJSON], and [FromPoints] and [FromShapes] for the
// features of other formats. Package format says which of them a file is for. Whatever the
// format, the result is a [Log]: the fixes, and the other columns by name for
// the layers above, which know what they mean.
//
// A bad line is skipped and told in a note. A reader fails with a
// [*SyntaxError] when the file holds no position, or when over half of its
// lines are bad. name stands in errors only. What comes line by line is a [Text],
// read as it comes; of formats that have to be read whole, data is text as
// package letters makes it.
//
// What needs no log stands in rooms below: letters makes UTF-8 of any text, records cuts
// it into records and fields, naming knows what columns are called, written reads numbers
// and times, sentence finds the sentences of NMEA 0183.
package gnsslog

import (
	"time"

	"lapwing/geo"
)

// A Log is what one file holds, in the order of the file.
type Log struct {
	Format  string // "CSV", "GPX 1.1", …
	Fixes   []geo.Fix
	Lines   []int32  // the line of each fix, from 1
	Columns []Column // the columns asked for with Options.Keep
	// Cover is the ground of each fix, a ring without its last corner, where the log
	// says what was worked and not where the machine was; else nil.
	Cover   [][]geo.LonLat
	Breaks  []int // indices of fixes that begin a new segment: not to be joined to the one before
	NoClock bool  // the log has no times
	// Zoneless counts fixes whose time had no zone; Options.Zone was used.
	Zoneless int
	// Understood says how each column or field of the file was taken, in the
	// order of the file, for a person to check: {"GPS_Speed(mph)", "speed in mph"}.
	Understood []Meaning
	// Notes say what was skipped, mended or doubted.
	Notes []geo.Note
}

// A Meaning is how a column was understood; "" for one that was not.
type Meaning struct{ Column, As string }

// A Column holds one value for each fix. Logs repeat themselves, so values
// are kept once: the value of fix i is Distinct[Codes[i]].
type Column struct {
	Name     string // as in the file
	Distinct []string
	Codes    []uint32
}

// Options say how to read. The zero value keeps no columns.
type Options struct {
	// Zone is for times without one; nil means UTC.
	Zone *time.Location
	// Keep chooses the columns to keep beside the fix itself, by their name
	// in lower case with spaces, dashes and underscores taken out and without
	// a unit in brackets: "implement status" is "implementstatus". nil keeps none.
	Keep func(name string) bool
}

func (o Options) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}

func (o Options) keeps(name string) bool { return o.Keep != nil && o.Keep(name) }

// A SyntaxError says that a file cannot be read, and why.
type SyntaxError = geo.SyntaxError
