package records

import (
	"encoding/csv"
	"fmt"
	"strings"
	"testing"
)

// FuzzSplit compares with encoding/csv: where both take a record, it is the same.
func FuzzSplit(f *testing.F) {
	f.Add("a,\"b\nc\",d\n")
	f.Add("\"a\"\"b\",\r\n")
	f.Add("2025-09-24T06:00:00Z,54.1,-1.2,,\xac\x2d,90,on,1,2,3,4,5,6\n")
	f.Fuzz(func(t *testing.T, text string) {
		if strings.HasPrefix(text, "\n") || strings.HasPrefix(text, "\r") {
			return // encoding/csv passes over empty lines, the reader does so before
		}
		want, err := csv.NewReader(strings.NewReader(text)).Read()
		got, _, ok := Split(nil, []byte(text), ',')
		if err != nil || !ok {
			return
		}
		if fmt.Sprintf("%q", want) != fmt.Sprintf("%q", got) {
			t.Errorf("%q: got %q, encoding/csv has %q", text, got, want)
		}
		line, _ := CutLine([]byte(text))
		if strings.IndexByte(text, '"') >= 0 {
			return
		}
		for most := 1; most < 12; most++ {
			got, total := SplitPlain(nil, line, ',', most)
			if total != len(want) || fmt.Sprintf("%q", got) != fmt.Sprintf("%q", want[:min(most, len(want))]) {
				t.Errorf("%q: got %d fields, the first %d %q, encoding/csv has %q", text, total, most, got, want)
			}
		}
	})
}
