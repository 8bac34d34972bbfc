package shapefile

import (
	"fmt"
	"regexp"
	"strings"
)

var (
	prjName  = regexp.MustCompile(`(?i)^\s*([A-Z]+)\s*\[\s*"([^"]*)"`)
	prjDatum = regexp.MustCompile(`(?i)\b(?:DATUM|ENSEMBLE)\s*\[\s*"([^"]*)"`)
	prjUnit  = regexp.MustCompile(`(?i)\b(?:ANGLE)?UNIT\s*\[\s*"([^"]*)"`)
	prjPrime = regexp.MustCompile(`(?i)\bPRIMEM\s*\[\s*"[^"]*"\s*,\s*([-+0-9.eE]+)`)

	datumWGS84 = regexp.MustCompile(`^(D?WGS(19)?84|WORLDGEODETICSYSTEM1984(ENSEMBLE)?)$`)
	datumNAD83 = regexp.MustCompile(`^(D?NORTHAMERICAN(DATUM)?(OF)?1983|D?NAD(19)?83)$`)
)

// CheckSystem looks at the coordinate system in a .prj file, well-known text as
// in OGC 01-009 or its successor. Only longitude and latitude in degrees on
// WGS 84 or NAD 83 is understood; the latter differs by a metre or two, the
// same all over a field. An empty text means there is no such file. It returns
// what is taken on trust, or a [*Fault].
func (m *Main) CheckSystem(prj string) (note string, err error) {
	const want = "longitude and latitude on WGS 84 or NAD 83"
	if strings.TrimSpace(prj) == "" {
		if !m.Degrees {
			return "", &Fault{Found: "no .prj file, and coordinates that are no degrees", Want: want}
		}
		return "no .prj file: coordinates taken as longitude and latitude on WGS 84", nil
	}
	name := prjName.FindStringSubmatch(prj)
	if name == nil {
		return "", &Fault{Where: ".prj", Found: fmt.Sprintf("%.40q", prj), Want: "the well-known text of a coordinate system"}
	}
	system := &Fault{Where: ".prj", Found: fmt.Sprintf("coordinate system %.60q", name[2]), Want: want}
	if kind := strings.ToUpper(name[1]); kind != "GEOGCS" && kind != "GEOGCRS" && kind != "GEODCRS" {
		return "", system
	}
	for _, u := range prjUnit.FindAllStringSubmatch(prj, -1) {
		if w := strings.ToLower(u[1]); !strings.HasPrefix(w, "degree") && !strings.HasPrefix(w, "met") {
			return "", system
		}
	}
	if prime := prjPrime.FindStringSubmatch(prj); prime != nil && strings.Trim(prime[1], "+-0.") != "" {
		return "", system
	}
	datum := prjDatum.FindStringSubmatch(prj)
	if datum == nil {
		return "", system
	}
	switch plain := letters(datum[1]); {
	case datumWGS84.MatchString(plain):
		return "", nil
	case datumNAD83.MatchString(plain):
		return "NAD 83 taken as WGS 84: all lies a metre or two off, shapes and areas are right", nil
	}
	return "", system
}

// letters returns the letters and digits of s, in upper case.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, strings.ToUpper(s))
}
