// Package gnsslog reads logs of GNSS receivers and machines.
//
// Each format has a file of its own; [Read] tells the kind by content, never
// by name. Whatever the format, the result is a [Log]: the fixes, and the
// other columns by name for the layers above, which know what they mean.
package gnsslog

import (
	"time"

	"lapwing/geo"
)

// A Log is what one file holds, in the order of the file.
type Log struct {
	Format  string // "CSV", "GPX 1.1", "NMEA 0183", "GeoJSON", "GeoPackage", "Shapefile"
	Fixes   []geo.Fix
	Lines   []int32  // the line of each fix, from 1
	Columns []Column // the columns asked for with Options.Keep
	Breaks  []int    // indices of fixes that begin a new segment: not to be joined to the one before
	NoClock bool     // the log has no times
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
	// Beside finds the files that belong to a shapefile's main one, by their
	// ending (".dbf"); it gives nothing where there is none. nil: there is
	// none of any ending. An archive holds its own.
	Beside func(ending string) ([]byte, error)
	// MaxBytes bounds what is read, after unpacking; zero means 4 GiB.
	MaxBytes int64
}

// A SyntaxError says that a file cannot be read, and why.
type SyntaxError = geo.SyntaxError
