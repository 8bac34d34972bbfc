package gnsslog

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"testing"
	"time"

	"lapwing/geo"
)

// winterBarley is a log of n fixes of an invented drill at 5 Hz, with the
// columns of a common log of field work.
func winterBarley(n int) []byte {
	var b bytes.Buffer
	b.WriteString("timestamp,latitude,longitude,speed_mps,heading,working,sections\n")
	start := time.Date(2025, 9, 24, 6, 0, 0, 0, time.UTC)
	for i := range n {
		at := start.Add(time.Duration(i) * 200 * time.Millisecond)
		working, sections := "1", "111111"
		if i%900 > 850 {
			working, sections = "0", "000000"
		}
		fmt.Fprintf(&b, "%s,%.9f,%.9f,%.3f,%.2f,%s,%s\n", at.Format("2006-01-02T15:04:05.000Z"),
			54.1+float64(i%1000)*4.7e-6, -1.2+float64(i/1000)*6.1e-5, 2.2+float64(i%17)*0.013, float64(i%360)+0.25, working, sections)
	}
	return b.Bytes()
}

func keepWork(name string) bool { return name == "working" || name == "sections" }

func BenchmarkReadCSV(b *testing.B) {
	const n = 200_000
	data := winterBarley(n)
	b.Run(fmt.Sprintf("fixes=%d", n), func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		var log *Log
		var err error
		for b.Loop() {
			log, err = ReadCSV("drill.csv", TextOf(data), Options{Keep: keepWork})
		}
		if err != nil || len(log.Fixes) != n {
			b.Fatal(err, log)
		}
	})
	b.Run(fmt.Sprintf("encoding-csv/fixes=%d", n), func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		var fixes []geo.Fix
		var err error
		for b.Loop() {
			fixes, err = readByStandardLibrary(data)
		}
		if err != nil || len(fixes) != n {
			b.Fatal(err, len(fixes))
		}
	})
}

// readByStandardLibrary reads what winterBarley writes with encoding/csv,
// time.Parse and strconv.
func readByStandardLibrary(data []byte) ([]geo.Fix, error) {
	r := csv.NewReader(bytes.NewReader(data))
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		return nil, err
	}
	var fixes []geo.Fix
	for {
		row, err := r.Read()
		if err == io.EOF {
			return fixes, nil
		}
		if err != nil {
			return nil, err
		}
		at, err := time.Parse(time.RFC3339Nano, row[0])
		if err != nil {
			return nil, err
		}
		var values [4]float64
		for i := range values {
			if values[i], err = strconv.ParseFloat(row[1+i], 64); err != nil {
				return nil, err
			}
		}
		fixes = append(fixes, geo.Fix{Time: geo.InstantOf(at), At: geo.LonLat{Lon: values[1], Lat: values[0]}, Speed: values[2], Heading: geo.Bearing(values[3])})
	}
}
