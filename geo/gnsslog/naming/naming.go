// Package naming knows what logs call the parts of a fix: the names of columns, whole or
// cut short, the units of speed in them, and the words for the quality of a fix.
package naming

import (
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"

	"lapwing/geo"
)

// A Role is what a column can be to a fix.
type Role int

const (
	Lat Role = iota
	Lon
	Time
	Date
	Speed
	Heading
	Quality
	Northing
	Easting
	Roles // how many there are
)

// known are the names of columns, normal form, by role; of several columns
// fit for a role the one named earliest here is taken.
var known = [Roles][]string{
	Lat:     {"lat", "latitude", "latdeg", "latitudedeg"},
	Lon:     {"lon", "long", "lng", "longitude", "londeg", "longdeg", "lngdeg", "longitudedeg"},
	Time:    {"timeutc", "utctime", "datetimeutc", "utcdatetime", "timestamputc", "utc", "timestamp", "datetime", "time", "isotime", "epoch", "unixtime", "unix", "epochs", "epochms", "timestampms", "timestamps", "unixms", "timems", "times", "timelocal", "localtime", "datetimelocal", "localdatetime", "timestamplocal", "localtimestamp", "utctimestamp", "isodatetime", "isotimestamp", "timeiso", "datetimeiso", "timestampiso", "iso8601", "timeofday", "timeofdayutc", "tod"},
	Date:    {"date", "dateutc", "utcdate", "datelocal", "localdate", "datestamp"},
	Speed:   {"speed", "groundspeed", "speedoverground", "sog", "velocity"},
	Heading: {"heading", "course", "bearing", "courseoverground", "cog", "headingdeg", "coursedeg", "bearingdeg", "headingdegrees", "coursedegrees", "bearingdegrees"},
	Quality: {"quality", "fixquality", "gpsquality", "gnssquality", "fix", "fixtype", "gpsfix"},
	// Taken only where there is no latitude and longitude. X and Y are what programs for
	// maps write, GDAL among them.
	Northing: {"northing", "northings", "north", "y", "ycoord", "pointy"},
	Easting:  {"easting", "eastings", "east", "x", "xcoord", "pointx"},
}

// A SpeedUnit is a way to write a unit of speed.
type SpeedUnit struct {
	Word string  // for people
	MPS  float64 // metres per second
}

// The mile is 1609.344 m, the nautical mile 1852 m, the foot 0.3048 m, all by
// definition (the international yard of 1959; the First International
// Extraordinary Hydrographic Conference, 1929).
var units = func() map[string]SpeedUnit {
	all := map[string]SpeedUnit{}
	for _, u := range []struct {
		unit  SpeedUnit
		names string
	}{
		{SpeedUnit{"m/s", 1}, "mps m/s ms metrespersecond meterspersecond"},
		{SpeedUnit{"km/h", 1 / 3.6}, "kmh km/h kph kmph"},
		{SpeedUnit{"mph", 1609.344 / 3600}, "mph mi/h milesperhour"},
		{SpeedUnit{"knots", 1852.0 / 3600}, "kn kt kts knot knots"},
		{SpeedUnit{"ft/s", 0.3048}, "fps ft/s"},
	} {
		for _, name := range strings.Fields(u.names) {
			all[name] = u.unit
		}
	}
	return all
}()

// Normal is a column's name in lower case without spaces, dashes, underscores
// and dots, and the unit that stands behind it in brackets.
func Normal(name string) (short, unit string) {
	name = strings.ToLower(strings.TrimSpace(name))
	if open := strings.LastIndexAny(name, "([{"); open > 0 && strings.ContainsAny(name[len(name)-1:], ")]}") {
		name, unit = name[:open], strings.TrimSpace(name[open+1:len(name)-1])
	}
	return strings.NewReplacer(" ", "", "-", "", "_", "", ".", "").Replace(name), unit
}

// Ranks is more than the rank of any name of a time.
func Ranks() int { return len(known[Time]) }

// Unit is the unit of speed of a name, such as "kn".
func Unit(name string) SpeedUnit { return units[name] }

// UnitCalled is the unit that people are told by a word; metres per second for none such.
func UnitCalled(word string) SpeedUnit {
	for _, unit := range units {
		if unit.Word == word {
			return unit
		}
	}
	return units["mps"]
}

// Of finds what a column is by its name in normal form and the unit behind it, and how
// far up the list the name stands; Roles if it is nothing to a fix. ok is false for a
// speed whose unit is none that is known.
func Of(short, unit string) (r Role, rank int, ok bool) {
	for _, short := range []string{short, strings.TrimPrefix(short, "gps"), strings.TrimPrefix(short, "gnss")} {
		for r := range Roles {
			at := slices.Index(known[r], short)
			if r == Speed {
				base, _, ok := SpeedOf(short, unit)
				if !ok && at >= 0 {
					return Roles, 0, false
				}
				at = slices.Index(known[r], base)
			}
			if r == Heading && strings.HasPrefix(unit, "rad") {
				at = -1
			}
			if at >= 0 {
				return r, at, true
			}
		}
	}
	return Roles, 0, true
}

// SpeedOf splits a name such as "speedmph" in the word and the unit. A name
// without a unit is in metres per second.
func SpeedOf(short, bracket string) (base string, unit SpeedUnit, ok bool) {
	for _, base := range known[Speed] {
		rest, is := strings.CutPrefix(short, base)
		if !is {
			continue
		}
		if rest == "" {
			rest = strings.NewReplacer(" ", "", "_", "", ".", "").Replace(bracket)
		}
		if rest == "" {
			rest = "mps"
		}
		unit, ok := units[rest]
		if !ok && rest == "kmh-1" {
			unit, ok = units["kmh"], true
		}
		if ok {
			return base, unit, true
		}
	}
	return "", SpeedUnit{}, false
}

// String is the role in words.
func (r Role) String() string { return roleWords[r] }

var roleWords = [...]string{"latitude", "longitude", "time", "date", "speed", "heading", "quality of the fix", "northing", "easting"}

// Same reports whether two names are the same in normal form.
func Same(a, b string) bool {
	shortA, unitA := Normal(a)
	shortB, unitB := Normal(b)
	return shortA == shortB && unitA == unitB
}

// Nearest is the name that is closest to one of a role's, if it is close enough to be a
// slip of the keyboard; "" for none.
func Nearest(names []string, r Role) string {
	best, least := "", 100
	for _, name := range names[:min(len(names), 1000)] {
		short, _ := Normal(name)
		if len(short) < 2 || len(short) > 40 {
			continue
		}
		for _, wanted := range known[r][:2] {
			steps := levenshtein.ComputeDistance(short, wanted)
			if steps <= 1+len(wanted)/4 && steps < least {
				best, least = name, steps
			}
		}
	}
	return best
}

// cutName is how many characters the name of a column has at most in a .dbf.
// Longer ones are cut, there and in what is made of such a table.
const cutName = 10

// leastStem is how much of a name must be left for it to be known by: "speed_",
// but not "time_". Judgement; no test holds it closely.
const leastStem = 5

// MayBeCut reports whether a column's name may have been cut to what a .dbf has
// room for, and returns what is left of it in normal form: all ten characters, or
// those before the number that keeps two cut names apart, as in "implemen_1".
func MayBeCut(name string) (stem string, ok bool) {
	name = strings.TrimSpace(name)
	if utf8.RuneCountInString(name) != cutName {
		return "", false
	}
	if digits := strings.TrimRight(name, "0123456789"); len(digits) < len(name) && len(digits) > 6 && strings.HasSuffix(digits, "_") {
		name = digits
	}
	name = strings.NewReplacer("(", "", "[", "", "{", "").Replace(name)
	stem, _ = Normal(name)
	return stem, len(stem) >= leastStem
}

// OfStem finds what a column whose name was cut is, where all names that begin
// so are of one role; Roles if there is none. Of a speed, unit is the unit where
// all have one.
func OfStem(stem string) (found Role, rank int, unit string) {
	found = Roles
	for _, stem := range []string{stem, strings.TrimPrefix(stem, "gps"), strings.TrimPrefix(stem, "gnss")} {
		if len(stem) < leastStem {
			continue
		}
		for r := range Roles {
			for at, name := range known[r] {
				if strings.HasPrefix(name, stem) {
					if found != Roles && found != r {
						return Roles, 0, ""
					}
					if found == Roles {
						found, rank = r, at
					}
				}
			}
		}
		for at, base := range known[Speed] {
			rest, is := strings.CutPrefix(stem, base)
			if !is || rest == "" {
				continue
			}
			for _, word := range slices.Sorted(maps.Keys(units)) {
				if strings.HasPrefix(word, rest) {
					if unit != "" && units[word].Word != unit {
						return Roles, 0, ""
					}
					found, rank, unit = Speed, at, units[word].Word
				}
			}
		}
	}
	return found, rank, unit
}

var qualityWords = map[string]geo.Quality{
	"none": geo.NoFix, "nofix": geo.NoFix, "invalid": geo.NoFix,
	"single": geo.Single, "gps": geo.Single, "gnss": geo.Single, "autonomous": geo.Single, "2d": geo.Single, "3d": geo.Single,
	"differential": geo.Differential, "dgps": geo.Differential, "dgnss": geo.Differential, "sbas": geo.Differential,
	"pps": geo.PPS, "precise": geo.PPS,
	"fixed": geo.Fixed, "rtk": geo.Fixed, "rtkfixed": geo.Fixed, "rtkfix": geo.Fixed,
	"float": geo.Float, "rtkfloat": geo.Float,
	"estimated": geo.Estimated, "manual": geo.Manual, "simulated": geo.Simulated, "simulator": geo.Simulated,
}

// QualityOf reads a number of the GGA sentence or a word.
func QualityOf(text []byte) (geo.Quality, bool) {
	if len(text) == 1 && text[0] >= '0' && text[0] <= '8' {
		if text[0] == '0' {
			return geo.NoFix, true
		}
		return geo.Quality(text[0] - '0'), true
	}
	word, _ := Normal(string(text))
	q, ok := qualityWords[strings.ReplaceAll(word, "/", "")]
	return q, ok
}
