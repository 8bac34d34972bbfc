package disk

import (
	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
)

// Formats are the formats that this program reads.
var Formats = append(format.Plain(), gpkg.Format)
