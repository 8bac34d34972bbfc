//go:build browser

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"

	"lapwing/report/browsertest"
)

func TestMain(m *testing.M) {
	status := browsertest.Main(m)
	if builtIn != "" {
		os.RemoveAll(builtIn)
	}
	os.Exit(status)
}

// builtIn is the folder of the program that built has built.
var builtIn string

// built is the path of the program, built once.
var built = sync.OnceValues(func() (string, error) {
	var err error
	if builtIn, err = os.MkdirTemp("", "lapwing-page-"); err != nil {
		return "", err
	}
	program := filepath.Join(builtIn, "lapwing")
	if out, err := exec.Command("go", "build", "-o", program, "lapwing/cmd/lapwing").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return program, nil
})
