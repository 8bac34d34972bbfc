package desk

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The folders of a desk.
const (
	filesDir      = "files"
	machinesDir   = "machines"
	boundariesDir = "boundaries"
	unpackedDir   = "unpacked"
	pagesDir      = "pages"
	historyDir    = "history"
	notesFile     = "desk.json"
)

// Bounds of a dropped file's name.
const (
	deepest     = 16  // folders
	longestName = 120 // bytes of one part
)

// NameFor is where a dropped file is to be stored: its path in what was dropped, with
// what no disk takes left out. A name that is taken, or was given out before, gets a
// number before its ending.
func (d *Desk) NameFor(dropped string) (string, error) {
	var parts []string
	for part := range strings.FieldsFuncSeq(dropped, func(c rune) bool { return c == '/' || c == '\\' }) {
		if part = plainPart(part); part != "" {
			parts = append(parts, part)
		}
	}
	if len(parts) == 0 {
		return "", wrong("found a file named "+quoted(dropped), "a name")
	}
	if len(parts) > deepest {
		parts = parts[len(parts)-deepest:]
	}
	name := path.Join(append([]string{filesDir}, parts...)...)
	d.naming.Lock()
	defer d.naming.Unlock()
	if d.room == 0 {
		d.room = mostFiles - len(d.below(filesDir))
	}
	if d.room <= 1 {
		return "", wrong(fmt.Sprintf("found more than %d files", mostFiles), "the files of some seasons, and another desk for more")
	}
	d.room--
	free := d.freeName(name, func(name string) bool { return d.promised[strings.ToLower(name)] })
	d.promised[strings.ToLower(free)] = true
	return free, nil
}

// keepPromises forgets the names that were given out for files that have come: from now
// on these names are taken for as long as the files are there.
func (d *Desk) keepPromises() {
	d.naming.Lock()
	defer d.naming.Unlock()
	d.room = 0
	for _, name := range d.below(filesDir) {
		delete(d.promised, strings.ToLower(name))
	}
}

// freeName is a name, with a number before its ending where the name is taken.
func (d *Desk) freeName(name string, taken func(string) bool) string {
	end := path.Ext(name)
	stem := strings.TrimSuffix(name, end)
	for n, try := 2, name; ; n++ {
		if _, err := fs.Stat(d.store, try); err != nil && !taken(try) {
			return try
		}
		try = fmt.Sprintf("%s (%d)%s", stem, n, end)
	}
}

// reserved are names that Windows keeps for devices, whatever their ending.
var reserved = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)(\.|$)`)

// plainPart is one part of a path as every disk takes it; "" for one that leads
// elsewhere.
func plainPart(part string) string {
	part = strings.Map(func(c rune) rune {
		switch {
		case c == utf8.RuneError, unicode.IsControl(c), unicode.Is(unicode.Cf, c), strings.ContainsRune(`<>:"|?*#`, c):
			return '_'
		case unicode.IsSpace(c):
			return ' '
		}
		return c
	}, part)
	part = strings.TrimSpace(strings.TrimRight(part, ". "))
	if part == "" || strings.Trim(part, ".") == "" {
		return ""
	}
	if reserved.MatchString(part) || strings.HasPrefix(part, ".") {
		part = "_" + part
	}
	if end := path.Ext(part); len(part) > longestName && len(end) < longestName/2 {
		part = strings.ToValidUTF8(strings.TrimSuffix(part, end)[:longestName-len(end)], "") + end
	} else if len(part) > longestName {
		part = strings.ToValidUTF8(part[:longestName], "")
	}
	return part
}

// pageName is the folder in pages of a job. One that lies in a folder gets a few digits
// that keep it apart from others.
func pageName(jobPath string) string {
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

func quoted(text string) string {
	if letters := []rune(text); len(letters) > 60 {
		text = string(letters[:60]) + "…"
	}
	return strconv.Quote(text)
}
