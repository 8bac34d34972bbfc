package assesstest

import (
	"bytes"
	"flag"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the goldens in testdata anew")

// Golden compares what write makes with testdata/name.
func Golden(t *testing.T, name string, write func(io.Writer) error) {
	t.Helper()
	var got bytes.Buffer
	require.NoError(t, write(&got))
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, got.Bytes(), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), got.String())
}
