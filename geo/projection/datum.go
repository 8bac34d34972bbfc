package projection

import (
	"fmt"
	"strings"

	"lapwing/geo"
)

// A Standing is how a datum stands to WGS 84.
type Standing uint8

// The standings.
const (
	Unknown Standing = iota
	Same             // WGS 84, or a frame within decimetres of it
	Near             // a continent's frame, which drifts from WGS 84 with its plate: a metre or two
	Far              // a frame of its own: tens or hundreds of metres
)

// A Datum is what ties a coordinate system to the Earth.
type Datum struct {
	Name  string // "NAD83(2011)"
	Stand Standing
	Off   string // how far places of a Near datum are from WGS 84: "1 to 2 m"
}

func (d Datum) note() string {
	if d.Stand != Near {
		return ""
	}
	return d.Name + " taken as WGS 84: all lies " + d.Off + " off, shapes and areas are right"
}

// A ShiftError says that a coordinate system is on a datum whose places would
// have to be shifted to lie on WGS 84, by tens or hundreds of metres; that
// takes tables and formulas of its own for each datum, which are not here.
type ShiftError struct {
	Datum string
	geo.Fault
}

// Unwrap returns the error as a [*geo.Fault].
func (e *ShiftError) Unwrap() error { return &e.Fault }

func farFrom(system string, d Datum) error {
	return &ShiftError{Datum: d.Name, Fault: geo.Fault{
		Where: fmt.Sprintf("coordinate system %.80q", system),
		Found: fmt.Sprintf("datum %.80q, which is not shifted to WGS 84 here", d.Name),
		Want:  "WGS 84, or a datum within 2 m of it such as NAD83 or ETRS89",
	}}
}

// How far the frames of the continents are from WGS 84 (G2139, within
// centimetres of ITRF2014) in 2026. NAD83: its origin lies 2 m from the
// Earth's centre, 1 to 2 m over North America (NOAA's NGS, HTDP). ETRS89
// moves with Europe by 2.5 cm a year since 1989, GDA94 with Australia by 7 cm
// since 1994 and GDA2020 since 2020; the others were fixed to ITRF at an epoch
// and move by 1 to 5 cm a year. JGD2000 does not know the earthquake of 2011.
const (
	oneToTwo  = "1 to 2 m"
	upToOne   = "up to 1 m"
	upToTwo   = "up to 2 m"
	upToFive  = "up to 5 m"
	unnamed   = "likely 1 to 2 m"
	sameFrame = ""
)

// datums lists datums with the letters and digits of the names that files have
// for them, apart from their own; a star stands for any ending. Names are those
// of the EPSG dataset and of ESRI's .prj files. That those taken as WGS 84 lie no
// farther from it is held by TestNearDatumsOfPROJ.
var datums = []struct {
	name  string
	stand Standing
	off   string
	keys  string
}{
	{"WGS 84", Same, sameFrame, "WGS1984 WGS1984MAJORAUXILIARYSPHERE WGS84* WORLDGEODETICSYSTEM1984* POPULARVISUALISATIONDATUM"},
	{"ITRF", Same, sameFrame, "ITRF* INTERNATIONALTERRESTRIALREFERENCEFRAME* IGS97 IGS00 IGB00 IGS05 IGS08 IGB08 IGS14 IGB14 IGS20"},
	{"NAD83(HARN)", Near, oneToTwo, "NAD83HIGHACCURACY* NORTHAMERICAN1983HARN NAD1983HARN*"},
	{"NAD83(NSRS2007)", Near, oneToTwo, "NAD83NATIONALSPATIALREFERENCESYSTEM2007 NAD1983NSRS2007"},
	{"NAD83(2011)", Near, oneToTwo, "NAD83NATIONALSPATIALREFERENCESYSTEM2011 NAD19832011"},
	{"NAD83(PA11)", Near, oneToTwo, "NAD83NATIONALSPATIALREFERENCESYSTEMPA11 NAD1983PA11"},
	{"NAD83(CSRS)", Near, oneToTwo, "NAD83CANADIANSPATIALREFERENCESYSTEM NORTHAMERICAN1983CSRS* NORTHAMERICANDATUMOF1983CSRS* NAD1983CSRS* NAD83CSRS*"},
	{"NAD83", Near, oneToTwo, "NAD83* NAD1983* NORTHAMERICANDATUM1983* NORTHAMERICAN1983* NORTHAMERICANDATUMOF1983*"},
	{"ETRS89", Near, oneToTwo, "ETRS89* ETRS1989 ETRF* EUROPEANTERRESTRIALREFERENCE*"},
	{"GDA94", Near, oneToTwo, "GDA1994 GEOCENTRICDATUMOFAUSTRALIA1994"},
	{"GDA2020", Near, upToOne, "GEOCENTRICDATUMOFAUSTRALIA2020"},
	{"NZGD2000", Near, oneToTwo, "NEWZEALANDGEODETICDATUM2000"},
	{"SIRGAS 2000", Near, upToOne, "SISTEMADEREFERENCIAGEOCENTRICOPARALASAMERICAS2000 SISTEMADEREFERENCIAGEOCENTRICOPARAAMERICADELSUR2000 SIRGASCHILE* SIRGASROU98 SIRGASES*"},
	{"SIRGAS 1995", Near, upToTwo, "SIRGAS SISTEMADEREFERENCIAGEOCENTRICOPARAAMERICADELSUR1995"},
	{"CGCS2000", Near, upToOne, "CHINA2000 CHINAGEODETICCOORDINATESYSTEM2000"},
	{"JGD2000", Near, upToFive, "JAPANESEGEODETICDATUM2000"},
	{"JGD2011", Near, upToOne, "JAPANESEGEODETICDATUM2011"},
	{"Korea 2000", Near, upToOne, "GEOCENTRICDATUMOFKOREA"},
	{"TWD97", Near, upToTwo, "TAIWANDATUM1997 TWD1997"},
	{"Hartebeesthoek94", Near, upToOne, "HARTEBEESTHOEK1994"},
	{"POSGAR 94", Near, upToOne, "POSGAR1994 POSICIONESGEODESICASARGENTINAS1994"},
	{"POSGAR 98", Near, upToOne, "POSGAR1998 POSICIONESGEODESICASARGENTINAS1998"},
	{"POSGAR 2007", Near, upToOne, "POSGAR POSICIONESGEODESICASARGENTINAS2007"},
	{"MAGNA-SIRGAS", Near, upToOne, "MAGNA MAGNASIRGAS* MARCOGEOCENTRICONACIONALDEREFERENCIA"},
	{"Mexico ITRF2008", Near, upToOne, "REDGEODESICANACIONAL2008"},
	{"Mexico ITRF92", Near, upToTwo, "MEXICANDATUMOF1993 REDGEODESICANACIONAL1992"},
	{"CR-SIRGAS", Near, upToOne, "CR14 COSTARICA2005 CR05"},
	{"REGVEN", Near, upToTwo, "REDGEODESICAVENEZOLANA SIRGASREGVEN"},
	{"Peru96", Near, upToTwo, "PERU1996"},
	{"MARGEN", Near, upToOne, "MARCOGEODESICONACIONAL*"},
	{"JAD2001", Near, upToOne, "JAMAICA2001"},
	{"RGF93", Near, oneToTwo, "RGF1993 RGF93* RESEAUGEODESIQUEFRANCAIS1993*"},
	{"SWEREF99", Near, oneToTwo, "SWEREF99*"},
	{"IRENET95", Near, oneToTwo, ""},
	{"RDN2008", Near, oneToTwo, "RETEDINAMICANAZIONALE2008"},
	{"IGM95", Near, oneToTwo, "IGM1995 ISTITUTOGEOGRAFICOMILITAIRE1995"},
	{"REGCAN95", Near, oneToTwo, "REDGEODESICADECANARIAS1995"},
	{"PTRA08", Near, oneToTwo, "AUTONOMOUSREGIONSOFPORTUGAL2008"},
	{"CHTRS95", Near, oneToTwo, "SWISSTRF1995 SWISSTERRESTRIALREFERENCESYSTEM1995"},
	{"ISN93", Near, upToTwo, "ISLANDSNETWORK1993 ISLANDSNET1993"},
	{"ISN2004", Near, upToTwo, "ISLANDSNETWORK2004 ISLANDSNET2004"},
	{"ISN2016", Near, upToOne, "ISLANDSNETWORK2016 ISLANDSNET2016"},
	{"GR96", Near, oneToTwo, "GREENLAND1996"},
	{"EST97", Near, oneToTwo, "ESTONIA1997"},
	{"LKS92", Near, oneToTwo, "LATVIA1992"},
	{"LKS94", Near, oneToTwo, "LITHUANIA1994*"},
	{"D96", Near, oneToTwo, "SLOVENIAGEODETICDATUM1996 SLOVENIA1996"},
	{"HTRS96", Near, oneToTwo, "CROATIANTERRESTRIALREFERENCESYSTEM"},
	{"SRB_ETRS89", Near, oneToTwo, "SERBIANSPATIALREFERENCESYSTEM2000 SERBIANREFERENCENETWORK1998"},
	{"BGS2005", Near, oneToTwo, "BULGARIAGEODETICSYSTEM2005"},
	{"MOLDREF99", Near, oneToTwo, ""},
	{"TUREF", Near, upToTwo, "TURKISHNATIONALREFERENCEFRAME"},
	{"KSA-GRF17", Near, upToOne, "KINGDOMOFSAUDIARABIAGEODETICREFERENCEFRAME2017"},
	{"IGRS", Near, upToTwo, "IRAQIGEOSPATIALREFERENCESYSTEM"},
	{"GDM2000", Near, upToTwo, "GEODETICDATUMOFMALAYSIA2000"},
	{"DGN95", Near, upToTwo, "DGN1995 DATUMGEODESINASIONAL1995"},
	{"SRGI2013", Near, upToOne, "SISTEMREFERENSIGEOSPASIALINDONESIA2013"},
	{"SVY21", Near, upToOne, ""},
	{"PNG94", Near, upToTwo, "PAPUANEWGUINEAGEODETICDATUM1994"},
	// Programs that know an ellipsoid and no more write so; another ellipsoid
	// than those of the datums above is refused by finish.
	{"a datum without a name", Near, unnamed, "UNKNOWN* UNNAMED UNDEFINED NOTSPECIFIED* GRS1980"},

	{"NAD27", Far, "", "NAD27* NAD1927* NORTHAMERICAN1927* NORTHAMERICANDATUM1927*"},
	{"ATS77", Far, "", "AVERAGETERRESTRIALSYSTEM1977 ATS1977"},
	{"ED50", Far, "", "ED50* EUROPEAN1950* EUROPEANDATUM1950*"},
	{"OSGB36", Far, "", "OSGB1936 ORDNANCESURVEYOFGREATBRITAIN1936"},
	{"TM65", Far, "", "TM1965 TM75 GEODETICDATUMOF1965 OSNI1952"},
	{"DHDN", Far, "", "DEUTSCHESHAUPTDREIECKSNETZ* POTSDAMDATUM83 RAUENBERGDATUM83 PD83 RD83"},
	{"MGI", Far, "", "MGI1901 MILITARGEOGRAPHISCHEINSTITUT* MILITARGEOGRAPHISCHESINSTITUT*"},
	{"CH1903", Far, "", "CH1903*"},
	{"NTF", Far, "", "NTFPARIS NOUVELLETRIANGULATIONFRANCAISE*"},
	{"Amersfoort", Far, "", "AMERSFOORT*"},
	{"Belge 1972", Far, "", "RESEAUNATIONALBELGE* BELGE19*"},
	{"Luxembourg 1930", Far, "", "LUREF LUXEMBOURGREFERENCEFRAME"},
	{"Monte Mario", Far, "", "MONTEMARIO* ROME1940"},
	{"Datum 73", Far, "", "LISBON* DATUMLISBOA*"},
	{"GGRS87", Far, "", "GGRS1987 GREEKGEODETICREFERENCESYSTEM1987"},
	{"HD72", Far, "", "HUNGARIAN1972 HUNGARIANDATUM1972"},
	{"S-JTSK", Far, "", "SJTSK* SYSTEMOFTHEUNIFIEDTRIGONOMETRICALCADASTRALNETWORK* JEDNOTNATRIGONOMETRICKASITKATASTRALNI*"},
	{"Pulkovo 1942", Far, "", "PULKOVO1942* DEALULPISCULUI*"},
	{"Pulkovo 1995", Far, "", ""},
	{"UCS-2000", Far, "", "UKRAINE2000"},
	{"RT90", Far, "", "RIKETSKOORDINATSYSTEM1990 STOCKHOLM1938"},
	{"KKJ", Far, "", "KARTASTOKOORDINAATTIJARJESTELMA1966"},
	{"NGO 1948", Far, "", "NGO1948*"},
	{"Israel 1993", Far, "", "ISRAEL"},
	{"Tokyo", Far, "", "TOKYO*"},
	{"Beijing 1954", Far, "", "NEWBEIJING"},
	{"Xian 1980", Far, "", ""},
	{"Korean 1985", Far, "", "KOREANDATUM1985"},
	{"TWD67", Far, "", "TAIWANDATUM1967 TWD1967"},
	{"Hong Kong 1980", Far, "", "HONGKONG19*"},
	{"VN-2000", Far, "", "VIETNAM2000"},
	{"Indian 1975", Far, "", "INDIAN19* KALIANPUR* EVEREST*"},
	{"Kertau", Far, "", "KERTAU* TIMBALAI1948"},
	{"PRS92", Far, "", "PHILIPPINEREFERENCESYSTEM1992 LUZON1911"},
	{"AGD66", Far, "", "AUSTRALIAN1966 AUSTRALIANGEODETICDATUM1966"},
	{"AGD84", Far, "", "AUSTRALIAN1984 AUSTRALIANGEODETICDATUM1984"},
	{"NZGD49", Far, "", "NEWZEALAND1949 NEWZEALANDGEODETICDATUM1949"},
	{"SAD69", Far, "", "SOUTHAMERICANDATUM1969* SOUTHAMERICAN1969*"},
	{"PSAD56", Far, "", "PROVISIONALSOUTHAMER* PROVSAMERDATUM* PROVISIONALSOUTHAMERICAN*"},
	{"Corrego Alegre", Far, "", "CORREGOALEGRE*"},
	{"Campo Inchauspe", Far, "", ""},
	{"Bogota 1975", Far, "", "BOGOTA*"},
	{"Cape", Far, "", ""},
	{"Arc 1950", Far, "", "ARC19*"},
	{"WGS 72", Far, "", "WGS1972* WORLDGEODETICSYSTEM1972* WGS72*"},
}

// datumNamed returns the datum that a file names; its standing is Unknown where
// the name is not known. Whole names go before beginnings.
func datumNamed(name string) Datum {
	plain := name
	if len(plain) > 2 && strings.EqualFold(plain[:2], "D_") { // ESRI's prefix
		plain = plain[2:]
	}
	plain = letters(plain)
	begins := Datum{Name: tidy(name)}
	for _, d := range datums {
		found := Datum{d.name, d.stand, d.off}
		if plain == letters(d.name) {
			return found
		}
		for _, key := range strings.Fields(d.keys) {
			start, open := strings.CutSuffix(key, "*")
			if plain == start {
				return found
			}
			if open && begins.Stand == Unknown && strings.HasPrefix(plain, start) {
				begins = found
			}
		}
	}
	return begins
}
