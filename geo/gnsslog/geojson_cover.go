package gnsslog

import (
	"slices"

	"lapwing/geo/feature"
	"lapwing/geo/geojson"
	"lapwing/geo/projection"
)

// readCover makes a log of polygons of worked ground, see [FromShapes]. Their
// properties are columns, each by the name it had first.
func (r *geojsonReader) readCover() (*Log, error) {
	var names []string
	for _, f := range r.cover {
		for name := range f.Properties.Members() {
			if len(names) < mostNames && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	log, err := FromShapes(r.name, "GeoJSON", &feature.Shapes{Close: func() {}, Each: func(do func(feature.Shape) error) error {
		for _, f := range r.cover {
			s := feature.Shape{Columns: names, Values: make([]feature.Value, len(names))}
			for name, value := range f.Properties.Members() {
				if at := slices.Index(names, name); at >= 0 {
					s.Values[at].Text = plainValue(value)
				}
			}
			polygons, err := f.Geometry.Polygons()
			if err != nil {
				return err
			}
			for _, p := range polygons {
				var o feature.Outline
				for i, at := range p {
					ring, err := r.ring(at)
					switch {
					case err != nil:
						return err
					case i == 0:
						o.Shells = append(o.Shells, ring)
					default:
						o.Holes = append(o.Holes, ring)
					}
				}
				s.Outlines = append(s.Outlines, o)
			}
			if err := do(s); err != nil {
				return err
			}
		}
		return nil
	}}, r.opt)
	if err != nil {
		return nil, err
	}
	for i, number := range log.Lines {
		log.Lines[i] = int32(r.cover[number-1].Line())
	}
	log.Notes = append(slices.Clip(r.log.Notes), log.Notes...)
	return log, nil
}

// ring is a ring of coordinates in the file's system.
func (r *geojsonReader) ring(of geojson.Ring) (feature.Ring, error) {
	if r.system == nil {
		return feature.Ring{Where: of.Where, At: of.At}, nil
	}
	at := make([]projection.XY, len(of.At))
	for i, p := range of.At {
		at[i] = projection.XY{X: p.Lon, Y: p.Lat}
	}
	return feature.RingAt(r.system, of.Where, at, nil)
}

// isCover reports whether polygons may be all that a file is about.
func (r *geojsonReader) isCover() bool {
	return len(r.cover) >= leastCover && len(r.table.points) == 0 && len(r.log.Fixes) == 0
}
