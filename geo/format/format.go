// Package format says which formats there are, tells by content which one a
// file is of, and has it read.
//
// A [Format] is a row of a [Table]: how it is told, what it can hold, who reads
// it. A program that knows no database has no row for the GeoPackage: each
// program has its own table. What reads, what tells people of formats
// and what tests hold README to all go by it.
//
//	format.go   a row, and the rows that need nothing but this module
//	table.go    which row a file is for; logs, boundaries, or whatever it holds
//	load.go     files as they come or whole, unpacked
//	spool.go    what comes once, read twice
//	archive.go  what is in a zip archive
package format

import (
	"bytes"
	"io"
	"io/fs"
	"slices"

	"lapwing/geo/boundary"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog"
	"lapwing/geo/gnsslog/sentence"
	"lapwing/geo/shapefile"
	"lapwing/geo/taskdata"
)

// A Format is a kind of file. Of the functions that read it those are nil that
// have nothing to read in such a file.
type Format struct {
	Name    string   // "GeoPackage"
	Noun    string   // as it is called in a list of what would do: "a GeoPackage"
	Endings []string // that its files usually have; no reader goes by them
	Files   string   // for people: which versions, what belongs to it, how it may be packed; may be ""

	// How a file is told to be of the format: by how it begins, byte for byte;
	// or by its text, blanks before it cut off. Neither: it is what remains of
	// text when nothing else fits.
	Magic string
	Tells func(text []byte) bool
	// Packed is the ending, in lower case, of the main file of a zip archive
	// of the format; "" where it does not come in archives.
	Packed string

	// What reads logs of fixes: Stream and Fixes those of a format with words of
	// its own for them, as they come or from the whole file, Points the features of
	// one that knows only places with attributes.
	Stream    func(name string, text gnsslog.Text, opt gnsslog.Options) (*gnsslog.Log, error)
	Fixes     func(f File, opt gnsslog.Options) (*gnsslog.Log, error)
	Points    func(f File) (*feature.Points, error)
	FixesFrom string // for people: which features they are, such as "points"; may be ""

	// What reads boundaries of fields, in the same two ways.
	Rings  func(f File) (*boundary.File, error)
	Shapes func(f File) (*feature.Shapes, error)

	// What reads task sets, which are both and more. Holds reports whether there is one
	// at a name in a file system, Set reads it; shown is the name in messages.
	Holds func(fsys fs.FS, name string) bool
	Set   func(fsys fs.FS, name, shown string) (*taskdata.Set, error)
}

// A File is a file to be read: whole, unpacked, told to be of the format.
type File struct {
	Name   string // as it stands in messages
	Inner  string // its name in the archive that Name is; "" for a file by itself
	Others int    // how many more of its kind are in the archive
	Data   []byte
	Beside func(ending string) ([]byte, error) // finds the files that belong to it; may be nil
}

// HoldsFixes reports whether a file of the format may be a log.
func (f *Format) HoldsFixes() bool { return f.readsLogs() || f.Set != nil }

// readsLogs reports whether a file of the format by itself may be a log.
func (f *Format) readsLogs() bool { return f.Stream != nil || f.Fixes != nil || f.Points != nil }

// readsRings reports whether a file of the format by itself may bound fields.
func (f *Format) readsRings() bool { return f.Rings != nil || f.Shapes != nil }

// HoldsBoundaries reports whether a file of the format may bound fields.
func (f *Format) HoldsBoundaries() bool { return f.readsRings() || f.Set != nil }

// The formats that need nothing but this module.
var (
	CSV = Format{Name: "CSV", Noun: "CSV", Endings: []string{".csv", ".txt"}, Files: "a table with a header",
		Stream: gnsslog.ReadCSV}
	GPX = Format{Name: "GPX", Noun: "GPX", Endings: []string{".gpx"}, Files: "1.0 and 1.1",
		Tells: isXML, Stream: gnsslog.ReadGPX}
	NMEA = Format{Name: "NMEA 0183", Noun: "NMEA 0183", Endings: []string{".nmea", ".log"},
		Tells: sentence.Among, Stream: gnsslog.ReadNMEA}
	GeoJSON = Format{Name: "GeoJSON", Noun: "GeoJSON", Endings: []string{".geojson", ".json"},
		Tells: isJSON, Fixes: whole(gnsslog.ReadGeoJSON), FixesFrom: "lines, points, polygons of worked ground", Rings: rings(boundary.ReadGeoJSON)}
	KML = Format{Name: "KML", Noun: "KML", Endings: []string{".kml"},
		Tells: isXML, Rings: rings(boundary.ReadKML)}
	KMZ = Format{Name: "KMZ", Noun: "KMZ", Endings: []string{".kmz"}, Files: "a zip archive of KML", Packed: ".kml",
		Rings: func(f File) (*boundary.File, error) { return boundary.ReadKMZ(f.Name, f.Inner, f.Data, f.Others) }}
	WKT = Format{Name: "WKT", Noun: "well-known text", Endings: []string{".wkt"},
		Tells: boundary.IsWKT, Rings: rings(boundary.ReadWKT)}
	Shapefile = Format{Name: "Shapefile", Noun: "a shapefile", Endings: []string{".shp"}, Files: "with its .dbf and .prj, or zipped",
		Magic: shapefile.Magic, Packed: ".shp",
		Points: func(f File) (*feature.Points, error) { return shapefile.Points(f.Data, f.Beside) }, FixesFrom: "points, polygons of worked ground",
		Shapes: func(f File) (*feature.Shapes, error) { return shapefile.Shapes(f.Data, f.Beside) }}
	TaskSet = Format{Name: "ISO 11783-10", Noun: "a task set", Endings: []string{".xml"}, Files: "a TASKDATA.XML, or the folder or zip archive it is in",
		Holds: taskdata.Holds,
		Set: func(fsys fs.FS, name, shown string) (*taskdata.Set, error) {
			return taskdata.Read(fsys, name, shown, func(file string) taskdata.Repairer { return boundary.NewRepairer(file) })
		}}
)

// Plain is the table of the formats above.
func Plain() Table {
	return Table{CSV, GPX, NMEA, GeoJSON, KML, KMZ, WKT, Shapefile, TaskSet}
}

// whole makes a reader of files of one of their text.
func whole(read func(name string, data []byte, opt gnsslog.Options) (*gnsslog.Log, error)) func(File, gnsslog.Options) (*gnsslog.Log, error) {
	return func(f File, opt gnsslog.Options) (*gnsslog.Log, error) { return read(f.Name, f.Data, opt) }
}

func rings(read func(name string, data []byte) (*boundary.File, error)) func(File) (*boundary.File, error) {
	return func(f File) (*boundary.File, error) { return read(f.Name, f.Data) }
}

func isXML(text []byte) bool { return len(text) > 0 && text[0] == '<' }

// isJSON reports whether a text begins as an object or a list of JSON does. A
// header of names in square brackets, as some spreadsheets write, is no list.
func isJSON(text []byte) bool {
	if len(text) == 0 || text[0] != '[' {
		return len(text) > 0 && text[0] == '{'
	}
	inside := bytes.TrimLeft(text[1:], " \t\r\n")
	return len(inside) > 0 && bytes.IndexByte([]byte(`{["]-0123456789`), inside[0]) >= 0
}

// An Input is a file as it is handed in.
type Input struct {
	Name string // as it stands in messages
	From io.Reader
	// Beside finds the files that belong to it, by their ending (".dbf"); it
	// gives nothing where there is none. nil finds none.
	Beside func(ending string) ([]byte, error)
	// Most is how many bytes are read, unpacked; zero stands for [MostOfLog] or
	// [MostOfBoundary].
	Most int64
}

// What is read of one file at most. A boundary of a million points takes about
// 40 MB as GeoJSON; the largest logs known, of a season in one file, under 1 GB.
// A log that is read as it comes takes memory for its fixes alone; one of a format
// that is read whole may be as large as memory allows on a small computer.
const (
	MostOfLog      = 4 << 30
	MostOfWholeLog = 1 << 30
	MostOfBoundary = 64 << 20
)

// nouns are what the formats that can do something are called.
func (t Table) nouns(can func(*Format) bool) (nouns []string) {
	for i := range t {
		if can(&t[i]) && !slices.Contains(nouns, t[i].Noun) {
			nouns = append(nouns, t[i].Noun)
		}
	}
	return nouns
}
