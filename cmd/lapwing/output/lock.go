package output

import "errors"

// ErrHeld says that another run is writing into a directory.
var ErrHeld = errors.New("another run of lapwing is writing here")
