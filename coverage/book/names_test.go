package book_test

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"lapwing/coverage/book"
)

// A path of a job file is real again as it would have been all along.
func TestNamesAreRealAgain(t *testing.T) {
	for _, path := range []string{"job.yaml", "jobs/job.yaml", "a/b/c/north.yml", "../job.yaml", "/job.yaml", "/srv/jobs/job.yaml"} {
		path = filepath.FromSlash(path)
		n := book.NamesOf(path)
		assert.Equal(t, path, n.Real(n.Path()))
		assert.Equal(t, path+":7: found none", n.Real(n.Path()+":7: found none"))
		assert.Equal(t, strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))+" has no pass", n.Real(filepath.Base(n.Path())+" has no pass"))
		for _, text := range []string{"day.csv", "logs/day.csv", "../day.csv", "../../x/day.csv", "../../../../../day.csv", ".", "..", "./a/../day.csv"} {
			neutral, real := filepath.Join(filepath.Dir(n.Path()), text), filepath.Join(filepath.Dir(path), text)
			assert.Equal(t, real, n.Real(neutral), "%s in %s", text, path)
			assert.Equal(t, "overlaps "+real+", "+real, n.Real("overlaps "+neutral+", "+neutral))
		}
	}
	assert.Equal(t, "/a/day.csv", book.NamesOf("x/job.yaml").Real("/a/day.csv"))
}
