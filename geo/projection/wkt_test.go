package projection

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/geo"
)

// Pieces of the texts below.
const (
	wgs     = `GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
	nad83   = `GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`
	utm14   = `PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-99.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]`
	utm14v2 = `CONVERSION["UTM zone 14N",METHOD["Transverse Mercator",ID["EPSG",9807]],` +
		`PARAMETER["Latitude of natural origin",0,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8801]],` +
		`PARAMETER["Longitude of natural origin",-99,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8802]],` +
		`PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1],ID["EPSG",8805]],` +
		`PARAMETER["False easting",500000,LENGTHUNIT["metre",1],ID["EPSG",8806]],` +
		`PARAMETER["False northing",0,LENGTHUNIT["metre",1],ID["EPSG",8807]]]`
	base84 = `BASEGEOGCRS["WGS 84",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]],ID["EPSG",4326]]`
	axesEN = `CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["metre",1]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["metre",1]]`
)

// texts are definitions that are understood, with the system each stands for by
// number. How a text is written does not matter, what it says does.
var texts = []struct {
	name, text string
	number     int
}{
	{"ESRI, UTM", `PROJCS["WGS_1984_UTM_Zone_14N",` + wgs + `,` + utm14 + `]`, 32614},
	{"ESRI, NAD83", `PROJCS["NAD_1983_UTM_Zone_14N",` + nad83 + `,` + utm14 + `]`, 26914},
	{"round brackets", strings.NewReplacer("[", "(", "]", ")").Replace(`PROJCS["x",` + wgs + `,` + utm14 + `]`), 32614},
	{"lower case", strings.ToLower(`PROJCS["x",` + wgs + `,` + utm14 + `]`), 32614},
	{"lines and blanks", strings.NewReplacer("[", " [\r\n\t", ",", " ,\n ", "]", "\n]").Replace(`PROJCS["x",`+wgs+`,`+utm14+`]`) + "\r\n", 32614},
	{"byte-order mark, zero bytes", "\ufeffPROJCS[\"x\"," + wgs + "," + utm14 + "]\x00\x1a\x00", 32614},
	{"curly quotes", strings.Replace(`PROJCS["x",`+wgs+`,`+utm14+`]`, `"x"`, "\u201cUTM \u201c14\u201d", 1), 32614},
	{"doubled quotes in a name", `PROJCS["the ""old"" zone",` + wgs + `,` + utm14 + `]`, 32614},
	{"with heights, as ESRI has them", `PROJCS["x",` + wgs + `,` + utm14 + `],VERTCS["NAVD_1988",VDATUM["North_American_Vertical_Datum_1988"],PARAMETER["Vertical_Shift",0.0],PARAMETER["Direction",1.0],UNIT["Meter",1.0]]`, 32614},
	{"compound, WKT 1", `COMPD_CS["x",PROJCS["y",` + wgs + `,` + utm14 + `],VERT_CS["z",VERT_DATUM["d",2005],UNIT["metre",1]]]`, 32614},
	{"unknown keywords", `PROJCS["x",` + wgs + `,` + utm14 + `,METADATA["m",1,2,3],FOO["bar",BAZ]]`, 32614},
	{"numbers as they come", `PROJCS["x",` + wgs + `,` + strings.NewReplacer("500000.0", "+5.E5", "-99.0", "-.99e2", "0.9996", "9996.e-4").Replace(utm14) + `]`, 32614},
	{"feet", `PROJCS["NAD_1983_StatePlane_Massachusetts_Mainland_FIPS_2001_Feet",` + nad83 +
		`,PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",656166.667],PARAMETER["False_Northing",2460625.0],PARAMETER["Central_Meridian",-71.5],` +
		`PARAMETER["Standard_Parallel_1",41.71666666666667],PARAMETER["Standard_Parallel_2",42.68333333333333],PARAMETER["Latitude_Of_Origin",41.0],UNIT["Foot_US",0.3048006]]`, 2249},
	{"GDAL, with authorities", `PROJCS["NAD83 / UTM zone 14N",GEOGCS["NAD83",DATUM["North_American_Datum_1983",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],TOWGS84[0,0,0,0,0,0,0],AUTHORITY["EPSG","6269"]],` +
		`PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4269"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],` +
		`PARAMETER["central_meridian",-99],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","26914"]]`, 26914},
	{"GDAL, the web's maps", `PROJCS["any",` + wgs + `,PROJECTION["Mercator_1SP"],PARAMETER["central_meridian",0],PARAMETER["scale_factor",1],PARAMETER["false_easting",0],PARAMETER["false_northing",0],UNIT["metre",1],` +
		`EXTENSION["PROJ4","+proj=merc +a=6378137 +b=6378137 +lat_ts=0 +lon_0=0 +x_0=0 +y_0=0 +k=1 +units=m +nadgrids=@null +wktext +no_defs"]]`, 3857},
	{"the web's maps, by name alone", `PROJCS["WGS 84 / Pseudo-Mercator",` + wgs + `,PROJECTION["Mercator_1SP"],PARAMETER["central_meridian",0],PARAMETER["scale_factor",1],PARAMETER["false_easting",0],PARAMETER["false_northing",0],UNIT["metre",1]]`, 3857},
	{"ESRI, the web's maps", `PROJCS["WGS_1984_Web_Mercator_Auxiliary_Sphere",` + wgs + `,PROJECTION["Mercator_Auxiliary_Sphere"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",0.0],` +
		`PARAMETER["Standard_Parallel_1",0.0],PARAMETER["Auxiliary_Sphere_Type",0.0],UNIT["Meter",1.0]]`, 3857},
	{"ESRI, the web's maps on a sphere", `PROJCS["WGS_1984_Web_Mercator",GEOGCS["GCS_WGS_1984_Major_Auxiliary_Sphere",DATUM["D_WGS_1984_Major_Auxiliary_Sphere",SPHEROID["WGS_1984_Major_Auxiliary_Sphere",6378137.0,0.0]],` +
		`PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",0.0],PARAMETER["Standard_Parallel_1",0.0],UNIT["Meter",1.0]]`, 3857},
	{"ESRI, axes west and south", `PROJCS["Hartebeesthoek94_Lo19",GEOGCS["GCS_Hartebeesthoek_1994",DATUM["D_Hartebeesthoek_1994",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],` +
		`PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",19.0],PARAMETER["Scale_Factor",-1.0],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`, 2048},
	{"WKT 2", `PROJCRS["WGS 84 / UTM zone 14N",` + base84 + `,` + utm14v2 + `,` + axesEN + `,USAGE[SCOPE["Navigation."],AREA["Earth"],BBOX[0,-102,84,-96]],ID["EPSG",32614]]`, 32614},
	{"WKT 2 of 2015, long keywords", `PROJECTEDCRS["x",` + strings.NewReplacer("PRIMEM", "PRIMEMERIDIAN", "DATUM", "GEODETICDATUM").Replace(base84) + `,` + utm14v2 + `,` + axesEN + `]`, 32614},
	{"WKT 2, unit after the axes", `PROJCRS["x",` + base84 + `,` + strings.ReplaceAll(utm14v2, `,LENGTHUNIT["metre",1]`, "") + `,CS[Cartesian,2],AXIS["(E)",east],AXIS["(N)",north],LENGTHUNIT["metre",1]]`, 32614},
	{"WKT 2, angles in grads", `PROJCRS["x",` + base84 + `,` + strings.Replace(utm14v2, `-99,ANGLEUNIT["degree",0.0174532925199433]`, `-110,ANGLEUNIT["grad",0.0157079632679489662]`, 1) + `,` + axesEN + `]`, 32614},
	{"WKT 2, compound and bound", `COMPOUNDCRS["x",BOUNDCRS[SOURCECRS[PROJCRS["y",` + base84 + `,` + utm14v2 + `,` + axesEN + `]],TARGETCRS[GEOGCRS["z"]],ABRIDGEDTRANSFORMATION["t",METHOD["m"]]],VERTCRS["v"]]`, 32614},
	{"longitude and latitude, ESRI", wgs, 4326},
	{"longitude and latitude, WKT 2", `GEOGCRS["WGS 84",ENSEMBLE["World Geodetic System 1984 ensemble",MEMBER["World Geodetic System 1984 (Transit)"],MEMBER["World Geodetic System 1984 (G2139)"],ELLIPSOID["WGS 84",6378137,298.257223563,LENGTHUNIT["metre",1]],` +
		`ENSEMBLEACCURACY[2.0]],PRIMEM["Greenwich",0],CS[ellipsoidal,2],AXIS["geodetic latitude (Lat)",north,ORDER[1],ANGLEUNIT["degree",0.0174532925199433]],AXIS["geodetic longitude (Lon)",east,ORDER[2],ANGLEUNIT["degree",0.0174532925199433]],ID["EPSG",4326]]`, 4326},
}

func TestParse(t *testing.T) {
	for _, c := range texts {
		t.Run(c.name, func(t *testing.T) {
			want, err := EPSG(c.number)
			require.NoError(t, err)
			got, err := Parse(c.text)
			require.NoError(t, err)
			assert.Equal(t, want.Datum, got.Datum)
			assert.Equal(t, want.Note(), got.Note())
			for _, p := range []geo.LonLat{{Lon: -97, Lat: 42}, {Lon: -71, Lat: 41.5}, {Lon: 20, Lat: -30}} {
				x, y, ok := want.FromEarth(p)
				u, v, ok2 := got.FromEarth(p)
				assert.Equal(t, ok, ok2)
				assert.InDelta(t, x, u, 0.0005, "%v", p) // EPSG rounds false eastings in feet to a thousandth
				assert.InDelta(t, y, v, 0.0005, "%v", p)
			}
		})
	}
}

// What a text says beside its projection is kept.
func TestParts(t *testing.T) {
	s, err := Parse(`PROJCRS["ETRS89 / Poland CS92",BASEGEOGCRS["ETRS89",DATUM["European Terrestrial Reference System 1989",ELLIPSOID["GRS 1980",6378137,298.257222101]]],` +
		strings.NewReplacer("-99", "19", "0.9996", "0.9993").Replace(utm14v2) + `,CS[Cartesian,2],AXIS["easting (y)",east,ORDER[2]],AXIS["northing (x)",north,ORDER[1]],LENGTHUNIT["metre",1],ID["EPSG",2180]]`)
	require.NoError(t, err)
	assert.Equal(t, "ETRS89 / Poland CS92", s.Name)
	assert.Equal(t, 2180, s.Number)
	assert.Equal(t, "transverse Mercator", s.Method)
	assert.Equal(t, Unit{"metre", 1}, s.Unit)
	assert.Equal(t, Ellipsoid{6378137, 298.257222101}, s.Ellipsoid)
	assert.True(t, s.NorthFirst)

	s, err = Parse(wgs)
	require.NoError(t, err)
	assert.Equal(t, "", s.Method)
	assert.Equal(t, 0, s.Number)
	assert.False(t, s.NorthFirst)
	p, ok := s.ToEarth(-97.25, 42.5)
	assert.True(t, ok)
	assert.Equal(t, geo.LonLat{Lon: -97.25, Lat: 42.5}, p, "degrees come through as they are")

	// A datum that is not known, but says itself that it lies on WGS 84.
	s, err = Parse(strings.NewReplacer("D_WGS_1984", "Ruritania\n1994", `298.257223563]`, `298.257223563],TOWGS84[0.5,-1,2,0,0,0,0]`).Replace(wgs))
	require.NoError(t, err)
	assert.Equal(t, "Ruritania 1994 taken as WGS 84: all lies up to 3 m off, shapes and areas are right", s.Note())

	s, err = Parse(strings.Replace(wgs, "D_WGS_1984", "D_Unknown", 1))
	require.NoError(t, err)
	assert.Equal(t, "a datum without a name taken as WGS 84: all lies likely 1 to 2 m off, shapes and areas are right", s.Note())
}

// wrongTexts are definitions that are refused, each with its error.
var wrongTexts = []struct{ name, text, err string }{
	{"nothing", "", "character 1: the end, want a keyword such as PROJCS"},
	{"blanks", " \n\x00", "character 4: the end, want a keyword such as PROJCS"},
	{"no brackets", "PROJCS", "character 7: the end, want a bracket"},
	{"an ArcInfo file", "Projection    UTM\nZone 14\n", `character 15: "UTM\nZone 14\n", want a bracket`},
	{"cut off", `PROJCS["x",GEOGCS["y"`, "character 22: the end, want a comma or ]"},
	{"quotes not closed", `PROJCS["x`, `character 8: "\"x", want the quotes closed`},
	{"brackets crossed", `PROJCS["x")`, `character 11: ")", want a comma or ]`},
	{"no value", `PROJCS["x",,]`, `character 12: ",]", want a keyword such as PROJCS`},
	{"no number", `PROJCS["x",1.2.3]`, `character 12: "1.2.3]", want a number`},
	{"a number too large", `PROJCS["x",1e999]`, `character 12: "1e999]", want a number`},
	{"words after it", wgs + "]", fmt.Sprintf(`character %d: "]", want the end`, len(wgs)+1)},
	{"too deep", strings.Repeat("A[", 100), fmt.Sprintf(`character %d: "[A[A[A[A[A[A[A[A[A[A", want brackets nested at most 16 deep`, 2*16+2)},
	{"too long", strings.Repeat(" ", 1<<16+1), "65537 characters of a coordinate system, want at most 65536"},
	{"not a coordinate system", `LOCAL_CS["x"]`, `"LOCAL_CS", want a projected or geographic coordinate system`},
	{"from the Earth's centre", `GEOCCS["x"]`, `"GEOCCS", want a projected or geographic coordinate system`},
	{"from the Earth's centre, WKT 2", `GEODCRS["x",DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563]],CS[Cartesian,3],LENGTHUNIT["metre",1]]`,
		`coordinate system "x": coordinates from the centre of the Earth, want longitude and latitude`},
	{"a pole elsewhere", `GEOGCRS["x",BASEGEOGCRS["y"],DERIVINGCONVERSION["z"],DATUM["World Geodetic System 1984",ELLIPSOID["WGS 84",6378137,298.257223563]]]`,
		`coordinate system "x": BASEGEOGCRS, want longitude and latitude that are derived from no other`},
	{"heights only", `COMPD_CS["x",VERT_CS["y"]]`, `"COMPD_CS", want a projected or geographic coordinate system`},

	{"no datum", `GEOGCS["x"]`, `coordinate system "x": no datum, want one`},
	{"no ellipsoid", `GEOGCS["x",DATUM["D_WGS_1984"]]`, `coordinate system "x": no ellipsoid, want one, with semi-major axis and inverse flattening`},
	{"the wrong ellipsoid", strings.Replace(wgs, "298.257223563", "299.1528128", 1), `coordinate system "GCS_WGS_1984": WGS 84 on an ellipsoid of 6378137 m, flattened by 1/299.1528128, want the ellipsoid of WGS 84, or GRS 80`},
	{"a sphere", strings.Replace(wgs, "298.257223563", "0.0", 1), `coordinate system "GCS_WGS_1984": WGS 84 on an ellipsoid of 6378137 m, flattened by 1/0, want the ellipsoid of WGS 84, or GRS 80`},
	{"an unnamed datum of the 19th century", strings.NewReplacer("D_WGS_1984", "D_Unknown", "6378137.0", "6378206.4").Replace(wgs),
		`coordinate system "GCS_WGS_1984": a datum without a name on an ellipsoid of 6378206.4 m, flattened by 1/298.2572236, want the ellipsoid of WGS 84, or GRS 80`},
	{"a datum that is not known", strings.Replace(wgs, "D_WGS_1984", "D_Ruritania", 1), `coordinate system "GCS_WGS_1984": datum "D_Ruritania", which is not known, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
	{"a datum that says that it is elsewhere", strings.Replace(wgs, `298.257223563]`, `298.257223563],TOWGS84[-192,-39,-111]`, 1),
		`coordinate system "GCS_WGS_1984": datum "D_WGS_1984", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
	{"a datum that says that it is turned", strings.NewReplacer("D_WGS_1984", "Ruritania", `298.257223563]`, `298.257223563],TOWGS84[0,0,0,0,0,5,0]`).Replace(wgs),
		`coordinate system "GCS_WGS_1984": datum "Ruritania", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
	{"NAD27", `GEOGCS["GCS_North_American_1927",DATUM["D_North_American_1927",SPHEROID["Clarke_1866",6378206.4,294.9786982]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`,
		`coordinate system "GCS_North_American_1927": datum "NAD27", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
	{"the datum before the projection", `PROJCS["Krovak",GEOGCS["x",DATUM["S_JTSK",SPHEROID["Bessel_1841",6377397.155,299.1528128]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Krovak"],UNIT["Meter",1.0]]`,
		`coordinate system "Krovak": datum "S-JTSK", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
	{"another prime meridian", strings.Replace(wgs, `PRIMEM["Greenwich",0.0]`, `PRIMEM["Paris",2.337229167]`, 1), `coordinate system "GCS_WGS_1984": prime meridian "Paris" at 2.337229167, want Greenwich`},
	{"a unit without its size", strings.Replace(wgs, `,0.0174532925199433`, ``, 1), `coordinate system "GCS_WGS_1984": unit "Degree" without its size, want a size above 0`},
	{"a unit of no size", strings.Replace(wgs, `0.0174532925199433`, `0`, 1), `coordinate system "GCS_WGS_1984": unit "Degree" of size 0, want a size above 0`},

	{"no geographic system", `PROJCS["x",` + utm14 + `]`, `coordinate system "x": no geographic system below it, want one`},
	{"no unit", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, `,UNIT["Meter",1.0]`, "", 1) + `]`, `coordinate system "x": no unit, want metres or feet`},
	{"no projection", `PROJCS["x",` + wgs + `,UNIT["Meter",1.0]]`, `coordinate system "x": projection "", want one of ` + methodNames},
	{"a projection that is not known", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, "Transverse_Mercator", "Bonne", 1) + `]`, `coordinate system "x": projection "Bonne", want one of ` + methodNames},
	{"a parameter that is not known", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, "Scale_Factor", "Skale_Factor", 1) + `]`, `coordinate system "x": parameter "Skale_Factor", want those of transverse Mercator`},
	{"a parameter that has no use", `PROJCS["x",` + wgs + `,PARAMETER["Standard_Parallel_1",40],` + utm14 + `]`, `transverse Mercator: a parameter it has no use for: standard parallel 1`},
	{"a parameter twice", `PROJCS["x",` + wgs + `,PARAMETER["central_meridian",-93],` + utm14 + `]`, `coordinate system "x": parameter "Central_Meridian", given twice, want it once`},
	{"a parameter without its value", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, ",-99.0", "", 1) + `]`, `coordinate system "x": parameter "Central_Meridian" without its value, want one`},
	{"a parameter missing", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, `PARAMETER["Central_Meridian",-99.0],`, "", 1) + `]`, `transverse Mercator: no longitude of origin, want one`},
	{"a parameter out of range", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, "-99.0", "-990", 1) + `]`, `transverse Mercator: longitude of origin -990, want at most 360 either way`},
	{"a scale of 0", `PROJCS["x",` + wgs + `,` + strings.Replace(utm14, "0.9996", "0", 1) + `]`, `transverse Mercator: scale factor 0, want about 1`},
	{"parallels as far north as south", `PROJCS["x",` + wgs + `,PROJECTION["Albers"],PARAMETER["False_Easting",0],PARAMETER["False_Northing",0],PARAMETER["Central_Meridian",0],PARAMETER["Standard_Parallel_1",40],` +
		`PARAMETER["Standard_Parallel_2",-40],PARAMETER["Latitude_Of_Origin",0],UNIT["Meter",1.0]]`, `Albers equal area: standard parallel 2 -40, want a cone's parallels, not as far north as south`},
	{"an extension", `PROJCS["x",` + wgs + `,` + utm14 + `,EXTENSION["PROJ4","+proj=tmerc +nadgrids=foo"]]`, `coordinate system "x": an extension "+proj=tmerc +nadgrids=foo", which may say otherwise than the text, want none`},
	{"axes elsewhere", `PROJCS["x",` + wgs + `,` + utm14 + `,AXIS["X",SOUTH],AXIS["Y",WEST]]`, `coordinate system "x": axes south and west, want east and north`},
	{"another sphere of the web's maps", `PROJCS["x",` + wgs + `,PROJECTION["Mercator_Auxiliary_Sphere"],PARAMETER["False_Easting",0.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",0.0],` +
		`PARAMETER["Standard_Parallel_1",0.0],PARAMETER["Auxiliary_Sphere_Type",2],UNIT["Meter",1.0]]`, `web Mercator: auxiliary sphere type 2, want at most 0 either way`},
	{"names of many lines", "PROJCS[\"a\nb\"," + strings.Replace(wgs, "D_WGS_1984", "c\nd", 1) + "]", `coordinate system "a b": datum "c\nd", which is not known, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89`},
}

func TestParseWrong(t *testing.T) {
	for _, c := range wrongTexts {
		t.Run(c.name, func(t *testing.T) {
			_, err := Parse(c.text)
			require.EqualError(t, err, c.err)
			var fault *geo.Fault
			assert.True(t, errors.As(err, &fault), "readers wrap faults with the name of their file")
		})
	}
}

// Whatever the text: no panic, errors and notes of one line, and a system that
// answers.
func FuzzParse(f *testing.F) {
	for _, c := range texts {
		f.Add(c.text)
	}
	for _, c := range wrongTexts {
		f.Add(c.text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text)
		if err != nil {
			if message := err.Error(); strings.ContainsAny(message, "\n\r") || message == "" || len(message) > 1000 {
				t.Fatalf("error %q", message)
			}
			return
		}
		if strings.ContainsAny(s.Note()+s.Name+s.Unit.Name, "\n\r") || s.Number < 0 {
			t.Fatalf("system %q, note %q", s.Name, s.Note())
		}
		v := &s.definition.values
		for _, d := range []float64{0, 1000, -1e5} {
			x, y := (v[easting]+d)/s.Unit.Size, (v[northing]+d)/s.Unit.Size
			p, ok := s.ToEarth(x, y)
			if !ok {
				continue
			}
			if !p.Valid() {
				t.Fatalf("%s: ToEarth(%v, %v) is %v", s.Name, x, y, p)
			}
			if u, w, ok := s.FromEarth(p); ok && (max(u-x, x-u)+max(w-y, y-w))*s.Unit.Size > 0.01 {
				t.Fatalf("%s: ToEarth(%v, %v) is %v, and that %v, %v", s.Name, x, y, p, u, w)
			}
		}
	})
}
