package gnsslog

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// zone14 is what GDAL 3.6 writes as the .prj of UTM zone 14 N.
const zone14 = `PROJCS["WGS_1984_UTM_Zone_14N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-99.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`

// onMap is a table with a .prj beside it.
func onMap(table, prj string) Text {
	text := TextOf([]byte(table))
	text.Beside = func(ending string) ([]byte, error) {
		if ending != ".prj" {
			return nil, nil
		}
		return []byte(prj), nil
	}
	return text
}

// On the central meridian a place has the false easting, whatever its latitude;
// and at the equator the northing is 0.
func TestTableOfEastingAndNorthing(t *testing.T) {
	log, err := ReadCSV("day.csv", onMap("time,Easting,Northing\n2026-05-04T06:00:00Z,500000,0\n2026-05-04T06:00:01Z,500000,10\n2026-05-04T06:00:02Z,,\n2026-05-04T06:00:03Z,1e300,0\n", zone14), Options{})
	require.NoError(t, err)
	require.Len(t, log.Fixes, 2)
	assert.InDelta(t, -99, log.Fixes[0].At.Lon, 1e-9)
	assert.InDelta(t, 0, log.Fixes[0].At.Lat, 1e-9)
	// Along the meridian at the equator: 10 m on the map are 10/0.9996 m, and a radian
	// there has a (1 - e²) metres (Snyder, Map Projections, 1987, p. 24).
	const a, e2 = 6378137.0, 0.00669437999014
	assert.InDelta(t, 10/0.9996/(a*(1-e2))*180/math.Pi, log.Fixes[1].At.Lat, 1e-9)
	assert.Equal(t, []Meaning{{"time", "time"}, {"Easting", "easting in WGS_1984_UTM_Zone_14N"}, {"Northing", "northing in WGS_1984_UTM_Zone_14N"}}, log.Understood)
	require.Len(t, log.Notes, 2, "a line without a place, and one beyond the map")
}

func TestTableOfEastingAndNorthingWithoutMap(t *testing.T) {
	_, err := ReadCSV("day.csv", TextOf([]byte("time,x,y\n2026-05-04T06:00:00Z,500000,0\n")), Options{})
	assert.EqualError(t, err, `day.csv:1: header: found columns "x" and "y", and no .prj file beside the table that says of which map, want that file, or columns lat and lon`)
	_, err = ReadCSV("day.csv", onMap("x,y\n5,6\n", "PROJCS[nothing"), Options{})
	var wrong *geo.SyntaxError
	require.ErrorAs(t, err, &wrong)
	assert.Contains(t, wrong.Where, ".prj")
}

// Where there is a longitude and latitude, they are the place, and x and y are
// columns as any other.
func TestTableWithBoth(t *testing.T) {
	log, err := ReadCSV("day.csv", onMap("lat,lon,x,y,X\n54,10,1,2,3\n", zone14), Options{})
	require.NoError(t, err)
	assert.Equal(t, geo.LonLat{Lon: 10, Lat: 54}, log.Fixes[0].At)
	assert.Empty(t, log.Understood[2].As)
}
