package taskdata

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo/boundary"
)

// A sheaf writes task sets, so that tests know what is in them.
type sheaf struct {
	t   testing.TB
	dir string
}

func newSheaf(t testing.TB) sheaf { return sheaf{t, t.TempDir()} }

func (s sheaf) file(name string, data []byte) sheaf {
	path := filepath.Join(s.dir, name)
	require.NoError(s.t, os.MkdirAll(filepath.Dir(path), 0o755))
	require.NoError(s.t, os.WriteFile(path, data, 0o644))
	return s
}

// set writes a TASKDATA.XML around its elements.
func (s sheaf) set(elements ...string) sheaf {
	return s.file("TASKDATA.XML", []byte(setText(elements...)))
}

func setText(elements ...string) string {
	return `<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<ISO11783_TaskData VersionMajor="4" VersionMinor="3">` + "\n" +
		strings.Join(elements, "\n") + "\n</ISO11783_TaskData>\n"
}

// log writes a log of a given header and body.
func (s sheaf) log(name, header string, records []byte) sheaf {
	return s.file(name+".XML", []byte(header)).file(name+".BIN", records)
}

// readAt reads the set at a path on this computer. Links lead nowhere outside
// of its folder.
func readAt(path string) (*Set, error) {
	dir, name := path, "."
	if info, err := os.Stat(path); err != nil || !info.IsDir() {
		dir, name = filepath.Split(path)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	return Read(root.FS(), name, path, func(file string) Repairer { return boundary.NewRepairer(file) })
}

func (s sheaf) read() *Set {
	set, err := readAt(s.dir)
	require.NoError(s.t, err)
	return set
}

// A record is a record of a log with positions and the clock's time.
type record struct {
	ms          uint32
	days        uint16
	north, east int32
	values      []value
}

type value struct {
	index uint8
	raw   int32
}

func (r record) append(to []byte) []byte {
	to = binary.LittleEndian.AppendUint32(to, r.ms)
	to = binary.LittleEndian.AppendUint16(to, r.days)
	to = binary.LittleEndian.AppendUint32(to, uint32(r.north))
	to = binary.LittleEndian.AppendUint32(to, uint32(r.east))
	return appendValues(to, r.values)
}

func appendValues(to []byte, values []value) []byte {
	to = append(to, uint8(len(values)))
	for _, v := range values {
		to = binary.LittleEndian.AppendUint32(append(to, v.index), uint32(v.raw))
	}
	return to
}

// headerText is a header with a clock, north and east, and values given as
// "ddi element".
func headerText(values ...string) string {
	var b strings.Builder
	b.WriteString(`<TIM A="" D="4"><PTN A="" B=""/>`)
	for _, v := range values {
		ddi, element, _ := strings.Cut(v, " ")
		fmt.Fprintf(&b, `<DLV A="%s" B="" C="%s"/>`, ddi, element)
	}
	b.WriteString("</TIM>")
	return b.String()
}

// oneTask is a task on field PFD1 by device DVC1 with one log.
const oneTask = `<TSK A="TSK1" B="Winter barley" E="PFD1" G="4"><DAN C="DVC1"/><TLG A="TLG00001" C="1"/></TSK>`

// barleyField is 200 m or so of invented ground.
const barleyField = `<PFD A="PFD1" C="Curlew Leys" D="31000"><PLN A="1"><LSG A="1">
<PNT A="2" C="51.700" D="-2.400"/><PNT A="2" C="51.700" D="-2.398"/><PNT A="2" C="51.702" D="-2.398"/><PNT A="2" C="51.702" D="-2.400"/>
</LSG></PLN></PFD>`
