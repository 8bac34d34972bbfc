//go:build browser

package years

import (
	"os"
	"testing"

	"lapwing/report/browsertest"
)

func TestMain(m *testing.M) { os.Exit(browsertest.Main(m)) }
