//go:build !js

package assess

import (
	"slices"

	"lapwing/coverage/field"
)

// Plain returns the assessment as [Do] would have made it had it not been asked for a
// drive, and been told more beside the warnings of its job, which are the first so many:
// see [Options.Elsewhere]. a stays as it is.
func (a *Assessment) Plain(ofJob int, elsewhere []field.Warning) (*Assessment, error) {
	out := *a
	out.Mend = nil
	if len(elsewhere) == 0 {
		return &out, nil
	}
	out.Warnings = slices.Insert(slices.Clone(a.Warnings), ofJob, elsewhere...)
	var err error
	out.Run, err = out.run()
	return &out, err
}
