package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRead(t *testing.T) {
	r, err := read([]string{"1.2.3", "--out", "there", "--only", "linux/amd64,windows/arm64"})
	require.NoError(t, err)
	assert.Equal(t, "1.2.3", r.version)
	assert.Equal(t, "there", r.out)
	assert.Equal(t, []target{{"linux", "amd64"}, {"windows", "arm64"}}, r.targets)
	r, err = read([]string{"--out", "there", "1.2.3-rc.1"})
	require.NoError(t, err)
	assert.Equal(t, "1.2.3-rc.1", r.version)
	assert.Len(t, r.targets, 6)
	for want, args := range map[string][]string{
		`found version "", want one such as 1.2.3`:          nil,
		`found version "v1.2.3", want one such as 1.2.3`:    {"v1.2.3"},
		`found version "1.2", want one such as 1.2.3`:       {"1.2"},
		`found version "1.2.3 -x", want one such as 1.2.3`:  {"1.2.3 -x"},
		`--only: found "linux/386", want some of [darwin/a`: {"1.2.3", "--only", "linux/386"},
	} {
		_, err := read(args)
		assert.ErrorContains(t, err, want)
	}
}

// Archives of the same files are the same to the byte, and hold who may run what and
// when it was committed, wherever and whenever they are made.
func TestPack(t *testing.T) {
	at := time.Date(2026, 5, 4, 18, 0, 2, 0, time.UTC)
	files := []file{{"README.md", 0o644, []byte("read me")}, {"lapwing", 0o755, bytes.Repeat([]byte("program"), 1000)}}
	var tars, zips [2]bytes.Buffer
	for i := range 2 {
		require.NoError(t, packTar(&tars[i], "lapwing-1", files, at))
		require.NoError(t, packZip(&zips[i], "lapwing-1", files, at))
	}
	assert.Equal(t, tars[0].Bytes(), tars[1].Bytes())
	assert.Equal(t, zips[0].Bytes(), zips[1].Bytes())

	z, err := gzip.NewReader(&tars[0])
	require.NoError(t, err)
	assert.True(t, z.ModTime.IsZero())
	in := tar.NewReader(z)
	for _, f := range files {
		head, err := in.Next()
		require.NoError(t, err)
		assert.Equal(t, "lapwing-1/"+f.name, head.Name)
		assert.EqualValues(t, f.mode, head.Mode)
		assert.True(t, at.Equal(head.ModTime))
		assert.Zero(t, head.Uid)
		assert.Empty(t, head.Uname)
		data, err := io.ReadAll(in)
		require.NoError(t, err)
		assert.Equal(t, f.data, data)
	}
	_, err = in.Next()
	assert.True(t, errors.Is(err, io.EOF))

	a, err := zip.NewReader(bytes.NewReader(zips[0].Bytes()), int64(zips[0].Len()))
	require.NoError(t, err)
	require.Len(t, a.File, 2)
	assert.Equal(t, "lapwing-1/lapwing", a.File[1].Name)
	assert.EqualValues(t, 0o755, a.File[1].Mode())
	assert.True(t, at.Equal(a.File[1].Modified))
}

// What a double click runs opens the desk of the program beside it, whatever folder
// both are in.
func TestOpeners(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the program itself is opened there")
	}
	dir := filepath.Join(t.TempDir(), "my downloads")
	require.NoError(t, os.Mkdir(dir, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "lapwing"), []byte("#!/bin/sh\necho \"$0 $@\"\n"), 0o755))
	for _, name := range opener {
		text, err := beside.ReadFile("beside/" + name)
		require.NoError(t, err)
		at := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(at, text, 0o755))
		c := exec.Command(at)
		if filepath.Ext(name) == ".desktop" { // a desktop takes the line apart, and %k is where the file is
			_, line, found := strings.Cut(string(text), "\nExec=sh -c '")
			require.True(t, found)
			script, rest, found := strings.Cut(line, "' ")
			require.True(t, found)
			line, _, _ = strings.Cut(rest, "\n")
			require.Equal(t, "lapwing %k", line)
			c = exec.Command("sh", "-c", script, "lapwing", at)
		}
		out, err := c.CombinedOutput()
		require.NoError(t, err, string(out))
		assert.Equal(t, "./lapwing desk\n", string(out), name)
	}
}
