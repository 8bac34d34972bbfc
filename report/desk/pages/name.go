package pages

import (
	"crypto/sha256"
	"encoding/hex"
	"path"
	"strings"
	"unicode"

	"lapwing/coverage/job"
	"lapwing/coverage/quantity"
)

// Folder is the folder in [Dir] of a job. One that lies in a folder gets a few digits
// that keep it apart from others.
func Folder(jobPath string) string {
	stem := strings.TrimSuffix(jobPath, path.Ext(jobPath))
	if !strings.Contains(stem, "/") {
		return stem
	}
	sum := sha256.Sum256([]byte(jobPath))
	name := strings.TrimSuffix(path.Join(path.Base(path.Dir(stem)), path.Base(stem)), "/job")
	return slug(strings.ReplaceAll(name, "/", " ")) + "-" + hex.EncodeToString(sum[:4])
}

// slug is a name as part of a path: small letters and digits, with dashes between.
func slug(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) })
	runes := []rune(strings.Join(words, "-"))
	return strings.Trim(string(runes[:min(len(runes), 48)]), "-")
}

// UnitsName is a system of units as messages and records have it.
func UnitsName(u quantity.Units) string {
	if u == quantity.Metric {
		return "metric"
	}
	return "us"
}

// wrong is the error for what cannot be made a page of.
func wrong(found, want string) error { return &job.InputError{Found: found, Want: want} }
