package projection_test

import (
	"errors"
	"fmt"

	"lapwing/geo/projection"
)

// A shapefile's .prj says what its coordinates mean.
func ExampleParse() {
	s, err := projection.Parse(`PROJCS["NAD_1983_UTM_Zone_14N",GEOGCS["GCS_North_American_1983",
		DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],
		PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],
		PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-99.0],
		PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`)
	if err != nil {
		fmt.Println(err)
		return
	}
	p, ok := s.ToEarth(621160.98, 3349893.03)
	fmt.Printf("%.6f, %.6f %v\n", p.Lon, p.Lat, ok)
	fmt.Println(s.Note())
	// Output:
	// -97.740332, 30.274669 true
	// NAD83 taken as WGS 84: all lies 1 to 2 m off, shapes and areas are right
}

// A number of the EPSG dataset does as well, unless its datum is elsewhere.
func ExampleEPSG() {
	s, err := projection.EPSG(2249)
	fmt.Println(s.Name, s.Unit.Name, err)

	_, err = projection.EPSG(27700)
	var shift *projection.ShiftError
	fmt.Println(errors.As(err, &shift), err)
	// Output:
	// NAD83 / Massachusetts Mainland (ftUS) US survey foot <nil>
	// true coordinate system "EPSG:27700": datum "OSGB36", which is not shifted to WGS 84 here, want WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89
}
