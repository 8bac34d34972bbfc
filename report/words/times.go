package words

import "time"

// Dated writes a time with its date.
func Dated(t time.Time) string {
	s := t.Format("2 Jan 2006 15:04")
	if t.Location() == time.UTC {
		s += " UTC"
	}
	return s
}

// TimeOfDay writes a time of day, with its date where that is another than the
// one of now.
func TimeOfDay(t, now time.Time) string {
	layout := "15:04"
	if t.YearDay() != now.YearDay() || t.Year() != now.Year() {
		layout = "2 Jan 15:04"
	}
	s := t.Format(layout)
	if t.Location() == time.UTC {
		s += " UTC"
	}
	return s
}
