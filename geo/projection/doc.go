// Package projection turns coordinates of maps into places on the Earth: it
// knows what easting 500,000, northing 4,700,000 means in a file whose .prj says
// UTM zone 14 north.
//
// A [System] says what two numbers mean. It comes
//
//   - from text: [Parse] reads the .prj of a shapefile (ESRI's well-known text),
//     the definition of a GeoPackage (OGC 01-009, with or without AUTHORITY) and
//     its definition_12_063 (ISO 19162:2019, "WKT 2");
//   - from a number of the EPSG dataset: [EPSG], for UTM and other belts by rule,
//     for the state planes and national grids by tables;
//   - from a name that holds such a number: [Named].
//
// [System.ToEarth] then gives places, [System.Ring] those of a boundary, whose
// edges are straight on the map, and [System.Note] the warning that goes with
// them.
//
// # Datums
//
// Places are on WGS 84. A datum within a metre or two of it is taken as WGS 84,
// and the note says so and how far off that is: all of a file alike, so that
// shapes, areas and the way from one pass to the next are right. Others, NAD27,
// ED50, OSGB36, DHDN, Amersfoort and their kin, lie tens or hundreds of metres
// off; they need a shift that takes tables of its own for each, and are refused
// by name with a [*ShiftError]. So EPSG:28992, RD New of the Netherlands, is
// refused though its projection is here: its datum is Amersfoort. A datum of
// unknown name is refused as well, unless its text says that it lies within 3 m.
//
// # Projections
//
//   - Transverse Mercator, also with axes west and south: Krüger's series to the
//     sixth order, C. F. F. Karney, "Transverse Mercator with an accuracy of a
//     few nanometers", J. Geodesy 85 (2011), 475-485. It is right to 5 nm within
//     3,900 km of the central meridian.
//   - Lambert's conformal conic with one standard parallel or two, Albers's
//     equal-area conic, Lambert's azimuthal equal-area, Mercator: J. P. Snyder,
//     "Map Projections: A Working Manual", USGS Professional Paper 1395 (1987).
//   - Hotine's oblique Mercator (Alaska's panhandle, Michigan), oblique
//     stereographic (New Brunswick, Prince Edward Island), the web's
//     pseudo-Mercator: IOGP Publication 373-7-2, "Geomatics Guidance Note 7,
//     part 2".
//   - Longitude and latitude themselves, in any unit of angle.
//
// All are checked against the worked examples of those works, and against
// PROJ's projinfo and cs2cs, which agree to a micrometre; in feet to 0.8 mm,
// because EPSG rounds false origins in feet.
//
// Left out are the polar stereographic projection, the polyconic, Cassini's,
// Krovak's and others that no field of today needs, or whose datums are refused
// anyhow, and the equidistant cylindrical: programs disagree on whether it is
// laid on the ellipsoid or on a sphere, which is 20 km and more.
//
// Numbers and parameters are facts of the EPSG dataset (epsg.org) and, for the
// state planes, of J. E. Stem, "State Plane Coordinate System of 1983", NOAA
// Manual NOS NGS 5 (1989).
package projection
