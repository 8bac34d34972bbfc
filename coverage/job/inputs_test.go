package job

import (
	"io"

	"lapwing/geo/format"
	"lapwing/geo/format/gpkg"
	"lapwing/geo/source/sourcetest"
)

// disk are the files of this computer, and what "-" means, for a program that
// reads all formats.
func disk(stdin io.Reader) Inputs {
	return Inputs{Files: sourcetest.Disk(stdin), Formats: append(format.Plain(), gpkg.Format)}
}
