package gnsslog

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strconv"
	"time"

	"lapwing/geo"
	"lapwing/geo/feature"
	"lapwing/geo/gnsslog/naming"
)

// FromPoints makes a log of the features of a file; format is what
// [Log.Format] says. Each attribute is what the column of its name would be in a
// CSV file; those named as a longitude or latitude is give way to the place of
// the feature.
func FromPoints(name, format string, points *feature.Points, opt Options) (*Log, error) {
	rows, err := newPointRows(name, 0, points.Columns, opt)
	if err != nil {
		return nil, err
	}
	if err := rows.read(points); err != nil {
		var fault *geo.Fault
		if errors.As(err, &fault) {
			return nil, fault.In(name)
		}
		return nil, err
	}
	if points.System != "" {
		rows.understood = append([]Meaning{{"coordinates", placesIn(points.System)}}, rows.understood[placeColumns:]...)
	}
	return rows.log(name, format, points.Notes)
}

// A pointRows reads features that are points as the rows of a table.
type pointRows struct {
	part
	from []int // the attribute of each column after longitude and latitude
}

// placeColumns is how many columns of a pointRows are its place.
const placeColumns = 2

// newPointRows understands the names of attributes; line is where they stand.
func newPointRows(name string, line int, attributes []string, opt Options) (*pointRows, error) {
	names := []string{"longitude", "latitude"}
	rows := &pointRows{}
	for i, attribute := range attributes {
		if !isPlace(attribute) {
			names, rows.from = append(names, attribute), append(rows.from, i)
		}
	}
	var err error
	if rows.plan, err = planColumns(name, line, ',', names, nil, opt); err != nil {
		return nil, err
	}
	rows.clock.Zone = opt.zone()
	rows.columns = make([]interner, len(rows.keep))
	return rows, nil
}

// isPlace reports whether an attribute is named as a longitude or latitude is.
func isPlace(attribute string) bool {
	short, unit := naming.Normal(attribute)
	r, _ := new(plan).roleOf(0, attribute, short, unit)
	return r <= naming.Lon
}

// log is the log of what was read, unless it holds no fix or is mostly bad.
func (rows *pointRows) log(name, format string, notes []geo.Note) (*Log, error) {
	if err := rows.troubles.verdict(name, len(rows.fixes), rows.records); err != nil {
		return nil, err
	}
	return &Log{
		Format: format, Fixes: rows.fixes, Lines: rows.lines,
		Columns: columnsOf(rows.plan, rows.columns), NoClock: !rows.has(naming.Time), Zoneless: rows.zoneless,
		Understood: rows.understood, Notes: slices.Concat(notes, rows.notes, rows.troubles.notes()),
	}, nil
}

// read makes fixes of all points.
func (rows *pointRows) read(points *feature.Points) error {
	if err := rows.sample(points); err != nil {
		return err
	}
	if rows.timeIsUTC {
		rows.clock.Zone = time.UTC
	}
	var err error
	if rows.clock.DayFirst, err = rows.dayFirst(points); err != nil {
		return err
	}
	return points.Each(func(p feature.Point) error {
		rows.records++
		rows.point(p, lineOf(p, rows.records))
		return nil
	})
}

// lineOf is the line of a feature, or its number.
func lineOf(p feature.Point, number int) int {
	if p.Line > 0 {
		return p.Line
	}
	return number
}

// errEnough stops a look at the features of a file.
var errEnough = errors.New("enough was seen")

// sample chooses the columns of time by the first features.
func (rows *pointRows) sample(points *feature.Points) error {
	var wrong error
	rows.settle(func(see func(column int, text []byte)) {
		left := sampled
		wrong = points.Each(func(p feature.Point) error {
			if left--; left < 0 {
				return errEnough
			}
			for _, c := range rows.clocks {
				see(c.at, rows.value(p, c.at).Text)
			}
			return nil
		})
	})
	if errors.Is(wrong, errEnough) {
		return nil
	}
	return wrong
}

// dayFirst tells the order of dates such as 4/5/2026, as for CSV.
func (rows *pointRows) dayFirst(points *feature.Points) (bool, error) {
	order := dateOrder{column: rows.dateColumn()}
	if order.column < 0 {
		return false, nil
	}
	number := 0
	err := points.Each(func(p feature.Point) error {
		if order.decided {
			return errEnough
		}
		number++
		order.see(rows.value(p, order.column).Text, lineOf(p, number))
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return false, err
	}
	return order.dayFirst(rows.plan, &rows.troubles), nil
}

// value is what a point says of a column; nothing of the two of its place, and
// of what it does not have.
func (rows *pointRows) value(p feature.Point, column int) feature.Value {
	if column < placeColumns || rows.from[column-placeColumns] >= len(p.Values) {
		return feature.Value{}
	}
	return p.Values[rows.from[column-placeColumns]]
}

// point makes a fix of one point.
func (rows *pointRows) point(p feature.Point, number int) {
	field := func(r naming.Role) feature.Value {
		if !rows.has(r) {
			return feature.Value{}
		}
		return rows.value(p, rows.at[r])
	}
	text := func(r naming.Role) []byte { return trimBlanks(field(r).Text) }
	fix := geo.Fix{At: p.At, Heading: geo.Bearing(math.NaN()), Speed: math.NaN()}
	if !rows.placed(p, number) ||
		rows.has(naming.Quality) && !rows.quality(&fix, text(naming.Quality), number) ||
		rows.has(naming.Time) && !rows.time(&fix, text(naming.Time), text(naming.Date), number) {
		return
	}
	if v := field(naming.Speed); v.Binary {
		rows.setSpeed(&fix, v.Number, true, v.Text, number)
	} else {
		rows.speed(&fix, trimBlanks(v.Text), number)
	}
	if v := field(naming.Heading); v.Binary {
		rows.setHeading(&fix, v.Number, true, v.Text, number)
	} else {
		rows.heading(&fix, trimBlanks(v.Text), number)
	}
	rows.fixes = append(rows.fixes, fix)
	rows.lines = append(rows.lines, int32(number))
	for i, at := range rows.keep {
		rows.columns[i].add(trimBlanks(oneLine(rows.value(p, at).Text)))
	}
}

// placed reports whether a point is somewhere on the Earth.
func (rows *pointRows) placed(p feature.Point, number int) bool {
	if !p.Placed {
		rows.noPosition(number)
		return false
	}
	if p.Beyond != "" {
		rows.troubles.add(badPosition, number, "", []byte(p.Beyond), "a place on the Earth")
		return false
	}
	for _, c := range []struct {
		of      naming.Role
		degrees float64
		most    float64
		want    string
	}{{naming.Lat, p.At.Lat, 90, wantLat}, {naming.Lon, p.At.Lon, 180, wantLon}} {
		if !(math.Abs(c.degrees) <= c.most) { // NaN too
			rows.troubles.add(badPosition, number, rows.names[rows.at[c.of]], strconv.AppendFloat(nil, c.degrees, 'f', -1, 64), c.want)
			return false
		}
	}
	return true
}

// oneLine is a value without line ends: it may become a name in a message.
func oneLine(value []byte) []byte {
	if !bytes.ContainsAny(value, "\r\n") {
		return value
	}
	return bytes.Map(func(r rune) rune {
		if r == '\n' || r == '\r' {
			return ' '
		}
		return r
	}, value)
}
