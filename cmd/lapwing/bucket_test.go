//go:build unix

package main

import (
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book/postgis/pgtest"
)

// A season whose book keeps the files of jobs in a bucket has the same files to the byte,
// and workers have what they need from there. Nothing tells a key.
func TestBookWithFilesInABucket(t *testing.T) {
	const secret = "wren/nest+42"
	kept := s3mem.New()
	require.NoError(t, kept.CreateBucket("farm"))
	server := httptest.NewServer(gofakes3.New(kept).Server())
	defer server.Close()
	for name, value := range map[string]string{"AWS_ACCESS_KEY_ID": "wren", "AWS_SECRET_ACCESS_KEY": secret, "AWS_CONFIG_FILE": "/dev/null", "AWS_SHARED_CREDENTIALS_FILE": "/dev/null"} {
		t.Setenv(name, value)
	}
	work := t.TempDir()
	writeSeason(t, filepath.Join(work, "jobs"), 2)
	lapwingIn(t, work, "season", "jobs", "--out", "plain")
	eachBook(t, func(t *testing.T, address string) {
		prefix := outOf(t)
		address += "?files=s3://farm?region=any&endpoint=" + url.QueryEscape(server.URL) + "&prefix=" + prefix + "/"
		season := start(t, work, "season", "jobs", "--out", prefix+"out", "--book", address, "--workers")
		season.says(t, ": 2 jobs\n")
		_, done := start(t, t.TempDir(), "work", "--book", address, "--until-empty").ends(t)
		assert.Contains(t, done, "Jobs done: 2; set aside: 0\n")
		status, said := season.ends(t)
		require.Equal(t, 0, status, said)
		sameFiles(t, filepath.Join(work, "plain"), filepath.Join(work, prefix+"out"))
		for _, text := range []string{said, done} {
			assert.NotContains(t, text, secret)
			assert.NotContains(t, text, "s3:")
			assert.NotContains(t, text, pgtest.Password)
		}
		list, err := kept.ListBucket("farm", &gofakes3.Prefix{HasPrefix: true, Prefix: prefix}, gofakes3.ListBucketPage{})
		require.NoError(t, err)
		assert.Len(t, list.Contents, 6, "two jobs of three files")
		files, err := filepath.Glob(filepath.Join(work, "*.files"))
		require.NoError(t, err)
		assert.Empty(t, files)
	})
}
