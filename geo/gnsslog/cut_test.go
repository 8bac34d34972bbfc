package gnsslog

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"lapwing/geo/gnsslog/records"
	"lapwing/geo/gnsslog/written"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readPieces reads a CSV file in pieces of a size.
func readPieces(text string, size int, opt Options) (*Log, error) {
	t := table{name: "f", text: TextOf([]byte(text)), opt: opt, pieces: size}
	return t.whole()
}

// Wherever a table is cut, it says the same: within a quoted field, between the
// two bytes that end a line, in a quote that is never closed.
func TestAnyPieces(t *testing.T) {
	keep := Options{Keep: func(string) bool { return true }}
	tests := map[string]string{
		"plain":           "lat,lon,note\n1,2,a\n3,4,b\n5,6,a\n7,8,c\n",
		"no last end":     "lat,lon,note\n1,2,a\n3,4,b",
		"CRLF":            "lat,lon,note\r\n1,2,a\r\n\r\n3,4,b\r\n",
		"quoted ends":     "lat,lon,note\n1,2,\"a\nb\r\nc\"\n3,4,\"d\"\"\n\"\n5,6,7\n",
		"open quote":      "lat,lon,note\n1,2,a\n3,4,\"b\n5,6,c\n7,8,d\n9,10,e\n",
		"stray quotes":    "lat,lon,note\n1,2,\"a\"b\n3,4,c\"d\n5,6,e\n7,8,\"f\"\n9,10,g\n",
		"bad lines":       "lat,lon,note\nx,2,a\n1,2,3,4\n5,6,7\n8,9,10\n11,12,13\n",
		"late date order": "date,lat,lon\n4/5/2026 06:00,1,2\n5/5/2026 06:00,1,2\n13/5/2026 06:00,1,2\n",
		"no times":        "time,lat,lon\n,1,2\n,3,4\n,5,6\n",
		"times begin":     "time,lat,lon\n,1,2\n,3,4\n2025-09-24T06:00:00Z,5,6\n",
		"long line":       "lat,lon,note\n1,2,a\n1,2," + strings.Repeat("x", records.MaxLine+records.PieceSize) + "\n5,6,c\n7,8,d\n",
		"long header":     "lat,lon,note," + strings.Repeat("x", 3*records.UsualHeader) + "\n1,2,a\n",
		"quoted header":   "lat,lon,\"no\nte\"\n1,2,a\n",
		"long quotes":     "lat,lon,note\n1,2,\"" + strings.Repeat("y\n", records.MaxQuoted/2-10) + "\"\n3,4,\"" + strings.Repeat("z\n", records.MaxQuoted) + "\"\n5,6,a\n",
	}
	for name, text := range tests {
		t.Run(name, func(t *testing.T) {
			want, wantErr := readPieces(text, 1<<30, keep)
			for _, size := range []int{1, 2, 3, 5, 7, 11, 16, 64, 1000, records.PieceSize} {
				if len(text) > 1000*size {
					continue
				}
				got, err := readPieces(text, size, keep)
				require.Equal(t, wantErr, err, size)
				require.Equal(t, fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got), size)
			}
		})
	}
}

// A reader takes no more of a table than a piece at a time, and the end of a
// line that is too long for one is not kept.
func TestPiecesAreBounded(t *testing.T) {
	line := strings.Repeat("x", 1<<20)
	text := "lat,lon\n" + strings.Repeat(line, 40) + "\n1,2\n"
	c := records.NewCutter(strings.NewReader(text), records.PieceSize)
	c.Begin(',', 1, nil)
	var room []byte
	total := 0
	for {
		piece, _, err := c.Next(room)
		require.NoError(t, err)
		if len(piece) == 0 {
			break
		}
		room, total = piece, total+len(piece)
	}
	assert.Less(t, cap(room), 4<<20)
	assert.Less(t, total, 2<<20)
	log, err := ReadCSV("f", TextOf([]byte(text+strings.Repeat("3,4\n", 3))), Options{})
	require.NoError(t, err)
	assert.Equal(t, []int32{3, 4, 5, 6}, log.Lines)
	requireNote(t, log, "want a line of less than a million bytes")
}

// What fails while a log is read is told as it is, by each reader.
func TestReadersTellWhatFails(t *testing.T) {
	broken := errors.New("the cable was pulled out")
	for name, c := range map[string]struct {
		text string
		read func(string, Text, Options) (*Log, error)
	}{
		"CSV":  {"lat,lon\n" + strings.Repeat("1,2\n", records.PieceSize), ReadCSV},
		"NMEA": {"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n", ReadNMEA},
		"GPX":  {"<gpx><trk><trkseg><trkpt lat='1' lon='2'/>", ReadGPX},
	} {
		text := Text{Open: func() (io.Reader, error) {
			return io.MultiReader(strings.NewReader(c.text), iotest.ErrReader(broken)), nil
		}}
		_, err := c.read("f", text, Options{})
		assert.ErrorIs(t, err, broken, name)
	}
}

// FuzzPieces compares with encoding/csv and with the same text read in one
// piece: the same records at the same lines, and where quotes make no sense, the
// line of the first.
func FuzzPieces(f *testing.F) {
	f.Add("1,2,\"a\nb\"\r\n3,4,c\n", 7)
	f.Add("1,2,\"a\"\"\n\n3,4,\"c\n5,6,\n", 3)
	f.Add("\r\n \n1,2\n1 , 2 ,\" x \"\n\"1\",\"2\",\n", 5)
	f.Fuzz(func(t *testing.T, body string, size int) {
		text := "lat,lon,note\n" + body
		opt := Options{Keep: func(name string) bool { return name == "note" }}
		size = 1 + max(size, -size)%300
		if size < 1 {
			return
		}
		got, err := readPieces(text, size, opt)
		whole, wholeErr := readPieces(text, 1<<20, opt)
		if fmt.Sprint(err) != fmt.Sprint(wholeErr) || fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", whole) {
			t.Fatalf("in pieces of %d bytes: %+v, %v; in one: %+v, %v", size, got, err, whole, wholeErr)
		}
		if err != nil {
			return
		}
		want, wrong := readByCSV(t, text)
		for i, line := range got.Lines {
			if wrong > 0 && int(line) >= wrong {
				break
			}
			c := got.Columns[0]
			if found := fmt.Sprintf("%d %v %v %q", line, got.Fixes[i].At.Lat, got.Fixes[i].At.Lon, c.Distinct[c.Codes[i]]); i >= len(want) || want[i] != found {
				t.Fatalf("record %d is %s, encoding/csv has %q", i, found, want)
			}
		}
		if wrong == 0 && len(want) != len(got.Fixes) {
			t.Fatalf("%d records, encoding/csv has %q", len(got.Fixes), want)
		}
		if wrong > 0 {
			for _, note := range got.Notes {
				if strings.Contains(note.Text, "quotes in pairs") {
					if note.Line != wrong {
						t.Fatalf("wrong quotes in line %d, encoding/csv says %d", note.Line, wrong)
					}
					return
				}
			}
			t.Fatalf("no wrong quotes, encoding/csv finds some in line %d", wrong)
		}
	})
}

// readByCSV reads a table with encoding/csv up to the first record whose quotes
// make no sense, whose line it returns. A quote within a field that does not
// begin with one is taken as it stands, as the reader does.
func readByCSV(t *testing.T, text string) (records []string, wrong int) {
	r := csv.NewReader(strings.NewReader(text))
	r.FieldsPerRecord = -1
	for first := true; ; first = false {
		fields, err := r.Read()
		var syntax *csv.ParseError
		switch {
		case err == io.EOF:
			return records, 0
		case errors.As(err, &syntax) && errors.Is(err, csv.ErrQuote):
			return records, syntax.StartLine
		case errors.As(err, &syntax) && errors.Is(err, csv.ErrBareQuote):
			t.Skip("a quote within a field")
		case err != nil:
			t.Fatal(err)
		}
		for len(fields) > 3 && fields[len(fields)-1] == "" {
			fields = fields[:len(fields)-1]
		}
		if first || len(fields) < 2 || len(fields) > 3 {
			continue
		}
		lat, okLat := written.Number(trimBlanks([]byte(fields[0])), false)
		lon, okLon := written.Number(trimBlanks([]byte(fields[1])), false)
		if !okLat || !okLon || lat < -90 || lat > 90 || lon < -180 || lon > 180 {
			continue
		}
		note := ""
		if len(fields) > 2 {
			note = string(trimBlanks([]byte(fields[2])))
		}
		line, _ := r.FieldPos(0)
		records = append(records, fmt.Sprintf("%d %v %v %q", line, lat, lon, note))
	}
}
