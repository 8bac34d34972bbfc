package gnsslog

func readGPX(name string, data []byte, opt Options) (*Log, error) {
	return nil, &SyntaxError{File: name, Found: "a kind not read yet"}
}
func readNMEA(name string, data []byte, opt Options) (*Log, error) {
	return nil, &SyntaxError{File: name, Found: "a kind not read yet"}
}
func readGeoJSON(name string, data []byte, opt Options) (*Log, error) {
	return nil, &SyntaxError{File: name, Found: "a kind not read yet"}
}
