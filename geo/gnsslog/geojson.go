package gnsslog

func readGeoJSON(name string, data []byte, opt Options) (*Log, error) {
	return nil, &SyntaxError{File: name, Found: "GeoJSON"}
}
