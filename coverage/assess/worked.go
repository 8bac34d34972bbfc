package assess

import (
	"fmt"

	"lapwing/coverage/field"
	"lapwing/coverage/job"
)

// NotWorked is the warning about a field of several that no pass is on.
func NotWorked(name string) field.Warning {
	return field.Warning{Text: fmt.Sprintf("no pass on %q; it is left out", name)}
}

// NoneWorked is the error for a job of so many fields that no pass is on. file is that of
// the job; "" where the call says which it is.
func NoneWorked(file string, fields int) error {
	return &job.InputError{File: file, Found: fmt.Sprintf("no pass on any of %d fields", fields), Want: "work on one of them at least"}
}
