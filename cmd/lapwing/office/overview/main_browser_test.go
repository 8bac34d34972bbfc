//go:build browser

package overview_test

import (
	"os"
	"testing"

	"lapwing/report/browsertest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }
