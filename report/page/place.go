package page

import (
	"fmt"
	"html/template"

	"lapwing/geo"
	"lapwing/report/words"
)

// A Place is where to go: a link that opens the phone's own map there, and a button
// that copies it where no map answers.
type Place struct {
	Way  words.Text   // how far it is, and in which direction; "" where that is not known
	Geo  template.URL // RFC 5870, latitude first
	Copy string       // "54.711180, 2.311840": latitude first, as maps take it
	Name string       // of what is there, for who cannot see it
}

// PlaceAt is a place on the Earth, to a decimetre.
func PlaceAt(at geo.LonLat, name string, way words.Text) *Place {
	return &Place{
		Way: way, Name: name,
		Geo:  template.URL(fmt.Sprintf("geo:%.6f,%.6f", at.Lat, at.Lon)),
		Copy: fmt.Sprintf("%.6f, %.6f", at.Lat, at.Lon),
	}
}
