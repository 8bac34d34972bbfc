package gnsslog

import (
	"bytes"
	"errors"
	"math"
	"strconv"
	"time"

	"lapwing/geo"
	features "lapwing/geo/feature"
)

// A pointRows reads features that are points as the rows of a table. Each
// attribute is what the column of its name would be in a CSV file.
type pointRows struct {
	part
	from []int // the attribute of each column after longitude and latitude
}

// FromPoints makes a log of the features of a file; format is what
// [Log.Format] says. Attributes named as a longitude or latitude is give way to
// the place of the feature. The line of a fix is the number of its feature.
func FromPoints(name, format string, points *features.Points, opt Options) (*Log, error) {
	names := []string{"longitude", "latitude"}
	rows := &pointRows{}
	for i, column := range points.Columns {
		short, unit := normal(column)
		if r, _ := new(plan).roleOf(0, column, short, unit); r > roleLon {
			names, rows.from = append(names, column), append(rows.from, i)
		}
	}
	p, err := planColumns(name, 0, ',', names, opt)
	if err != nil {
		return nil, err
	}
	rows.plan, rows.clock.zone = p, opt.zone()
	if p.timeIsUTC {
		rows.clock.zone = time.UTC
	}
	rows.columns = make([]interner, len(p.keep))
	if err := rows.read(points); err != nil {
		return nil, faultIn(name, err)
	}
	if err := rows.troubles.verdict(name, len(rows.fixes), rows.records); err != nil {
		return nil, err
	}
	return &Log{
		Format: format, Fixes: rows.fixes, Lines: rows.lines,
		Columns: joinColumns(p, []*part{&rows.part}), NoClock: !p.has(roleTime), Zoneless: rows.zoneless,
		Understood: p.understood, Notes: append(append(points.Notes, p.notes...), rows.troubles.notes()...),
	}, nil
}

// faultIn puts what is wrong with a part of a file into an error of the file.
func faultIn(name string, err error) error {
	var fault *geo.Fault
	if errors.As(err, &fault) {
		return fault.In(name)
	}
	return err
}

// read makes fixes of all points.
func (rows *pointRows) read(points *features.Points) error {
	var err error
	if rows.clock.dayFirst, err = rows.dayFirst(points); err != nil {
		return err
	}
	return points.Each(func(p features.Point) error {
		rows.records++
		rows.point(p, rows.records)
		return nil
	})
}

// errEnough stops a look at the features of a file.
var errEnough = errors.New("enough was seen")

// dayFirst tells the order of dates such as 4/5/2026, as for CSV.
func (rows *pointRows) dayFirst(points *features.Points) (bool, error) {
	order := dateOrder{column: rows.dateColumn()}
	if order.column < 0 {
		return false, nil
	}
	number := 0
	err := points.Each(func(p features.Point) error {
		if order.decided {
			return errEnough
		}
		number++
		order.see(rows.value(p, order.column).Text, number)
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return false, err
	}
	return order.dayFirst(rows.plan, &rows.troubles), nil
}

// value is what a point says of a column; nothing of the two of its place.
func (rows *pointRows) value(p features.Point, column int) features.Value {
	if column < 2 {
		return features.Value{}
	}
	return p.Values[rows.from[column-2]]
}

// point makes a fix of one point.
func (rows *pointRows) point(p features.Point, number int) {
	field := func(r role) features.Value {
		if !rows.has(r) {
			return features.Value{}
		}
		return rows.value(p, rows.at[r])
	}
	text := func(r role) []byte { return trimBlanks(field(r).Text) }
	fix := geo.Fix{At: p.At, Heading: math.NaN(), Speed: math.NaN()}
	if !rows.placed(p, number) ||
		rows.has(roleQuality) && !rows.quality(&fix, text(roleQuality), number) ||
		rows.has(roleTime) && !rows.time(&fix, text(roleTime), text(roleDate), number) {
		return
	}
	if v := field(roleSpeed); v.Binary {
		rows.setSpeed(&fix, v.Number, true, v.Text, number)
	} else {
		rows.speed(&fix, trimBlanks(v.Text), number)
	}
	if v := field(roleHeading); v.Binary {
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
func (rows *pointRows) placed(p features.Point, number int) bool {
	if !p.Placed {
		rows.noPosition(number)
		return false
	}
	for _, c := range []struct {
		of      role
		degrees float64
		most    float64
		want    string
	}{{roleLat, p.At.Lat, 90, wantLat}, {roleLon, p.At.Lon, 180, wantLon}} {
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
