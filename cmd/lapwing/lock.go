package main

import "errors"

// errHeld says that another run is writing into a directory.
var errHeld = errors.New("another run of lapwing is writing here")
