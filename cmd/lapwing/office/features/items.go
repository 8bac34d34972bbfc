package features

import (
	"fmt"
	"net/url"
	"strconv"
	"time"

	"lapwing/coverage/book"
	"lapwing/geo"
)

// items gives a page of features. Pages are by number, so that what comes in between moves
// nothing from one page to another.
func (c *call) items(l book.Layer) error {
	matched, err := c.book.Matched(c.r.Context(), c.of)
	if err != nil {
		return err
	}
	page := c.of
	page.Most++ // whether there is a next one
	var features []byte
	var n int
	var last int64
	more := false
	err = c.book.Features(c.r.Context(), page, func(f book.Feature) (err error) {
		if n == c.of.Most {
			more = true
			return nil
		}
		if n > 0 {
			features = append(features, ',')
		}
		n, last = n+1, f.ID
		features, err = appendFeature(append(features, '\n'), l, f, nil)
		return err
	})
	if err != nil {
		return err
	}
	links := []link{
		{Href: c.here(), Rel: "self", Type: geoJSONKind, Title: "this page"},
		{Href: c.root + "/collections/" + l.Name, Rel: "collection", Type: jsonKind, Title: l.Title},
	}
	if more {
		next := c.r.URL.Query()
		next.Set("after", strconv.FormatInt(last, 10))
		links = append(links, link{Href: c.root + "/collections/" + l.Name + "/items?" + next.Encode(), Rel: "next", Type: geoJSONKind, Title: "the next page"})
	}
	text, err := inJSON(links)
	if err != nil {
		return err
	}
	b := fmt.Appendf(nil, `{"type":"FeatureCollection","timeStamp":%q,"numberMatched":%d,"numberReturned":%d,"links":%s,"features":[`, moment(time.Now()), matched, n, text)
	c.give(geoJSONKind, append(append(b, features...), "\n]}\n"...))
	return nil
}

// item gives one feature.
func (c *call) item(l book.Layer) error {
	at := c.root + "/collections/" + l.Name
	links := []link{
		{Href: c.here(), Rel: "self", Type: geoJSONKind, Title: "this feature"},
		{Href: at, Rel: "collection", Type: jsonKind, Title: l.Title},
	}
	var text []byte
	err := c.book.Features(c.r.Context(), c.of, func(f book.Feature) (err error) {
		text, err = appendFeature(nil, l, f, links)
		return err
	})
	if err != nil {
		return err
	}
	if text == nil {
		return &notThere{fmt.Sprintf("found no feature %d, want one that %s lists", c.of.ID, url.PathEscape(l.Name))}
	}
	c.give(geoJSONKind, text)
	return nil
}

// appendFeature writes a feature as GeoJSON.
func appendFeature(b []byte, l book.Layer, f book.Feature, links []link) ([]byte, error) {
	b = fmt.Appendf(b, `{"type":"Feature","id":%d,`, f.ID)
	if links != nil {
		text, err := inJSON(links)
		if err != nil {
			return nil, err
		}
		b = append(append(append(b, `"links":`...), text...), ',')
	}
	b = append(b, `"geometry":`...)
	switch {
	case len(f.Lines) > 0:
		b = appendList(append(b, `{"type":"MultiLineString","coordinates":`...), f.Lines, appendPlaces)
		b = append(b, '}')
	case len(f.Polygons) > 0:
		b = appendList(append(b, `{"type":"MultiPolygon","coordinates":`...), f.Polygons, func(b []byte, p geo.Polygon) []byte {
			return appendList(b, append([][]geo.LonLat{p.Shell}, p.Holes...), appendPlaces)
		})
		b = append(b, '}')
	default:
		b = append(b, "null"...)
	}
	b = append(b, `,"properties":{`...)
	for i, p := range l.Properties {
		if i > 0 {
			b = append(b, ',')
		}
		value := f.Values[i]
		if at, ok := value.(time.Time); ok {
			value = moment(at)
		}
		text, err := inJSON(value)
		if err != nil {
			return nil, fmt.Errorf("%s %d, %s: %w", l.Name, f.ID, p.Name, err)
		}
		b = append(append(strconv.AppendQuote(b, p.Name), ':'), text...)
	}
	return append(b, "}}"...), nil
}

func appendPlaces(b []byte, places []geo.LonLat) []byte {
	return appendList(b, places, func(b []byte, p geo.LonLat) []byte {
		// What a book keeps is rounded to the ninth decimal: no more is written.
		b = strconv.AppendFloat(append(b, '['), p.Lon, 'f', -1, 64)
		b = strconv.AppendFloat(append(b, ','), p.Lat, 'f', -1, 64)
		return append(b, ']')
	})
}

func appendList[T any](b []byte, list []T, one func([]byte, T) []byte) []byte {
	b = append(b, '[')
	for i, v := range list {
		if i > 0 {
			b = append(b, ',')
		}
		b = one(b, v)
	}
	return append(b, ']')
}
