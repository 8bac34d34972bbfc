package journal_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"lapwing/geo"
	"lapwing/geo/gnsslog"
	"lapwing/geo/journal"
)

var start = time.Date(2026, 5, 4, 14, 3, 11, 0, time.UTC)

// drive is n records of a machine at 10 Hz, each different.
func drive(machine string, n int) []journal.Record {
	var all []journal.Record
	for i := range n {
		r := journal.Record{Machine: machine, Working: [...]string{"1", "0", ""}[i/5%3], Sections: [...]string{"111", "011", ""}[i/7%3]}
		r.Time = geo.InstantOf(start.Add(time.Duration(i) * 100 * time.Millisecond))
		r.At = geo.LonLat{Lon: -117 - float64(i)*1.37e-6/3, Lat: 46.7 + float64(i)*1e-9/7}
		r.Quality = geo.Quality(i % 9)
		r.Heading, r.Speed = geo.Bearing(i%360)+1.0/3, float64(i%50)/9
		if i%11 == 10 {
			r.Heading, r.Speed = geo.Bearing(math.NaN()), math.NaN()
		}
		all = append(all, r)
	}
	return all
}

// show is a record to the last bit, so that NaN equals itself.
func show(r journal.Record) string {
	return fmt.Sprintf("%d %x %x %x %x %d %q %q %q", r.Time, math.Float64bits(r.At.Lon), math.Float64bits(r.At.Lat),
		math.Float64bits(float64(r.Heading)), math.Float64bits(r.Speed), r.Quality, r.Machine, r.Working, r.Sections)
}

func requireRecords(t require.TestingT, want, got []journal.Record, args ...any) {
	a, b := []string{}, []string{}
	for _, r := range want {
		a = append(a, show(r))
	}
	for _, r := range got {
		b = append(b, show(r))
	}
	if !slices.Equal(a, b) {
		require.Equal(t, a, b, args...)
	}
}

// unsynced is for tests that sync by themselves.
var unsynced = journal.Options{Sync: -1}

// written is a whole journal of records.
func written(t require.TestingT, records []journal.Record) (data []byte, name string) {
	d := newDisk()
	j, err := journal.Create(d, records[0].Machine, start, unsynced)
	require.NoError(t, err)
	for _, r := range records {
		require.NoError(t, j.Append(r))
	}
	require.NoError(t, j.Close())
	return d.bytes(j.Name()), j.Name()
}

// read reads all records there are.
func read(t require.TestingT, data []byte) ([]journal.Record, journal.Found) {
	var all []journal.Record
	found, err := journal.Read(bytes.NewReader(data), func(r journal.Record) { all = append(all, r) })
	require.NoError(t, err)
	require.Equal(t, len(all), found.Records)
	return all, found
}

// The file is what people and other programs read.
func TestLooks(t *testing.T) {
	records := drive("drill A", 1)
	records[0].Quality = geo.Fixed
	records[0].Heading, records[0].Speed = 90.25, 2.5
	data, name := written(t, records)
	require.Equal(t, "drill-A-20260504T140311Z.csv", name)
	require.Equal(t, "time,lat,lon,quality,heading,speed(m/s),machine,working,sections,check\n"+
		"2026-05-04T14:03:11Z,46.7,-117,4,90.25,2.5,drill A,1,111,", string(data[:len(data)-9]))
	require.Regexp(t, "^[0-9a-f]{8}\n$", string(data[len(data)-9:]))
}

// No record is longer than a kilobyte, whatever it holds.
func TestLongestLine(t *testing.T) {
	r := journal.Record{Machine: strings.Repeat(`"`, 200), Working: "1", Sections: strings.Repeat("1", 256)}
	r.Time = geo.InstantOf(start) + 123456789
	r.At = geo.LonLat{Lon: -5e-324, Lat: -math.SmallestNonzeroFloat64}
	r.Heading, r.Speed = 1.0/3*1e-300, math.MaxFloat64
	data, _ := written(t, []journal.Record{r})
	require.Less(t, len(data), 1024)
	got, _ := read(t, data)
	requireRecords(t, []journal.Record{r}, got)
}

// Law: a journal reads back to the very records, here and by the reader of
// logs.
func TestReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		machine := rapid.StringMatching(`([A-Za-z0-9",;'é_-]([ -~]{0,10}[!-~])?)?`).Draw(t, "machine")
		degrees := func(most float64, name string) float64 {
			return rapid.OneOf(rapid.Float64Range(-most, most), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), most, -most, 5e-324, 1e-7, -1.0 / 3})).Draw(t, name)
		}
		orNone := func(most float64, name string) float64 {
			return rapid.OneOf(rapid.Float64Range(0, most), rapid.SampledFrom([]float64{0, math.NaN(), 5e-324, math.Nextafter(most, 0)})).Draw(t, name)
		}
		var records []journal.Record
		for i := range rapid.IntRange(1, 20).Draw(t, "records") {
			r := journal.Record{Machine: machine,
				Working:  rapid.SampledFrom([]string{"", "0", "1"}).Draw(t, "working"),
				Sections: rapid.StringMatching("[01]{0,40}").Draw(t, "sections")}
			r.Time = geo.Instant(rapid.Int64Range(int64(geo.InstantOf(time.Date(1678, 1, 1, 0, 0, 0, 0, time.UTC))),
				int64(geo.InstantOf(time.Date(2261, 12, 31, 23, 59, 59, 999999999, time.UTC)))).Draw(t, "time"))
			r.At = geo.LonLat{Lon: degrees(180, "lon"), Lat: degrees(90, "lat")}
			r.Heading, r.Speed = geo.Bearing(orNone(360, "heading")), orNone(math.MaxFloat64, "speed")
			if r.Heading == 360 {
				r.Heading = 0
			}
			r.Quality = geo.Quality(rapid.IntRange(0, int(geo.Simulated)).Draw(t, "quality"))
			records = append(records, r)
			_ = i
		}
		data, _ := written(t, records)
		got, found := read(t, data)
		requireRecords(t, records, got)
		require.Empty(t, found.Warnings())
		require.Equal(t, int64(len(data)), found.Size)
		requireRecords(t, records, readAsLog(t, data))
	})
}

// readAsLog reads a journal as package gnsslog reads any log.
func readAsLog(t require.TestingT, data []byte) []journal.Record {
	log, err := gnsslog.ReadCSV("a.csv", gnsslog.TextOf(data), gnsslog.Options{Keep: func(name string) bool {
		return name == "machine" || name == "working" || name == "sections"
	}})
	require.NoError(t, err)
	var all []journal.Record
	for i, fix := range log.Fixes {
		r := journal.Record{Fix: fix}
		for _, c := range log.Columns {
			value := c.Distinct[c.Codes[i]]
			switch c.Name {
			case "machine":
				r.Machine = value
			case "working":
				r.Working = value
			case "sections":
				r.Sections = value
			}
		}
		all = append(all, r)
	}
	return all
}

// The reader of logs understands every column but the check, and has nothing
// to say about the file.
func TestUnderstoodAsLog(t *testing.T) {
	data, _ := written(t, drive("drill A", 8)) // without a simulator's fix, which it notes
	log, err := gnsslog.ReadCSV("a.csv", gnsslog.TextOf(data), gnsslog.Options{})
	require.NoError(t, err)
	require.Empty(t, log.Notes)
	require.Zero(t, log.Zoneless)
	require.False(t, log.NoClock)
	understood := map[string]string{}
	for _, m := range log.Understood {
		understood[m.Column] = m.As
	}
	require.Equal(t, map[string]string{"time": "time", "lat": "latitude", "lon": "longitude", "quality": "quality of the fix",
		"heading": "heading in degrees", "speed(m/s)": "speed in m/s", "machine": "", "working": "", "sections": "", "check": ""}, understood)
}

// Torn at every byte there is: the whole records are there, the rest is cut
// off, kept and told, and the journal goes on.
func TestTornAtEveryByte(t *testing.T) {
	records := drive("drill A", 6)
	whole, name := written(t, records)
	ends := []int{0}
	for i, c := range whole {
		if c == '\n' {
			ends = append(ends, i+1)
		}
	}
	more := drive("drill A", 9)[6:]
	for cut := range len(whole) + 1 {
		n, exact := slices.BinarySearch(ends, cut) // lines that are whole, the header among them
		if !exact {
			n--
		}
		d := with(name, whole[:cut])
		var got []journal.Record
		j, found, err := journal.Open(d, name, "drill A", unsynced, func(r journal.Record) { got = append(got, r) })
		require.NoError(t, err, "cut at %d", cut)
		requireRecords(t, records[:max(0, n-1)], got, "cut at %d", cut)
		torn := whole[ends[n]:cut]
		if len(torn) == 0 {
			require.Empty(t, found.Warnings(), "cut at %d", cut)
			require.Equal(t, []string{name}, d.names())
		} else {
			require.Equal(t, []string{fmt.Sprintf("torn at byte %d: found %d bytes after the last whole record, want its end; cut off, and kept in %s.torn",
				ends[n], len(torn), name)}, found.Warnings())
			require.Equal(t, torn, d.bytes(name+".torn"))
		}
		for _, r := range more {
			require.NoError(t, j.Append(r))
		}
		require.NoError(t, j.Close())
		again, _ := written(t, append(slices.Clone(records[:max(0, n-1)]), more...))
		require.Equal(t, string(again), string(d.bytes(name)), "cut at %d", cut)
	}
}

// Damage with good records after it loses what is damaged, is told with its
// place, and stays. No bit that turns makes a record that was not written.
func TestDamageInTheMiddle(t *testing.T) {
	records := drive("drill A", 5)
	whole, _ := written(t, records)
	lines := bytes.SplitAfter(whole, []byte("\n"))
	begin := len(lines[0]) + len(lines[1]) + len(lines[2])
	for at := begin; at < begin+len(lines[3]); at++ {
		for bit := range 8 {
			data := bytes.Clone(whole)
			data[at] ^= 1 << bit
			got, found := read(t, data)
			length := int64(len(lines[3]))
			want := append(slices.Clone(records[:2]), records[3:]...)
			if at == begin+len(lines[3])-1 { // its end: the next line is no record either
				length += int64(len(lines[4]))
				want = append(slices.Clone(records[:2]), records[4:]...)
			}
			requireRecords(t, want, got, "byte %d, bit %d", at, bit)
			require.Equal(t, []*journal.Damage{{Offset: int64(begin), Length: length}}, found.Damage)
			require.Nil(t, found.Torn)
			require.Equal(t, []string{fmt.Sprintf("damaged at byte %d: found %d bytes that are no record, want a record; left out", begin, length)}, found.Warnings())
		}
	}
}

func TestBreakages(t *testing.T) {
	records := drive("drill A", 5)
	whole, name := written(t, records)
	lines := bytes.SplitAfter(whole, []byte("\n"))
	header := lines[0]
	join := func(parts ...[]byte) []byte { return bytes.Join(parts, nil) }
	zeros := make([]byte, 5000)
	noise := make([]byte, 200_000)
	for i := range noise {
		noise[i] = byte(i * i >> 3)
	}
	tests := []struct {
		name string
		data []byte
		want []int // records that are there
		says []string
	}{
		{"nothing", nil, nil, nil},
		{"header alone", header, nil, nil},
		{"header torn", header[:20], nil, []string{"torn at byte 0: found 20 bytes"}},
		{"zeros after a power cut", join(whole, zeros), []int{0, 1, 2, 3, 4}, []string{fmt.Sprintf("torn at byte %d: found 5000 bytes", len(whole))}},
		{"all zeros", zeros, nil, []string{"torn at byte 0: found 5000 bytes"}},
		{"zeros within", join(header, lines[1], zeros, lines[2]), []int{0}, []string{"torn at"}},
		{"zeros and a line's end within", join(header, lines[1], zeros, []byte("\n"), lines[2]), []int{0, 1}, []string{"damaged at"}},
		{"a line too long", join(header, lines[1], bytes.Repeat([]byte("x"), 200<<10), []byte("\n"), lines[2]), []int{0, 1}, []string{"found 204801 bytes"}},
		{"a record as the end of a line too long", join(header, lines[1], bytes.Repeat([]byte("x"), 64<<10), lines[2], lines[3]),
			[]int{0, 2}, []string{"damaged at"}},
		{"a record as the end of a line much too long", join(header, lines[1], bytes.Repeat([]byte("x"), 128<<10), lines[2], lines[3]),
			[]int{0, 2}, []string{"damaged at"}},
		{"a long torn end", join(header, lines[1], noise), []int{0}, []string{"found 200000 bytes"}},
		{"a record gone", join(header, lines[1], lines[3]), []int{0, 2}, nil},
		{"no header", join(lines[1], lines[2]), []int{0, 1}, nil},
		{"another header", join([]byte("a,b\n"), lines[1]), []int{0}, []string{"damaged at byte 0: found 4 bytes"}},
		{"line ends of another system", bytes.ReplaceAll(whole, []byte("\n"), []byte("\r\n")), nil, []string{"torn at byte 0"}},
		{"half of the last two", join(header, lines[1], lines[2][:30], lines[3][:10]), []int{0}, []string{"found 40 bytes"}},
		{"damage and a torn end", join(header, []byte("x\n"), lines[1], lines[2][:9]), []int{0}, []string{"damaged at", "torn at"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, found := read(t, tt.data)
			var want []journal.Record
			for _, i := range tt.want {
				want = append(want, records[i])
			}
			requireRecords(t, want, got)
			says := found.Warnings()
			require.Len(t, says, len(tt.says))
			for i := range says {
				require.Contains(t, says[i], tt.says[i])
			}
			d := with(name, tt.data)
			mended, err := journal.Mend(d, name, nil)
			require.NoError(t, err)
			require.Equal(t, tt.data[:found.Size], d.bytes(name)[:found.Size])
			require.Len(t, d.bytes(name), int(found.Size), "nothing is left after the last whole record")
			require.Equal(t, found.Records, mended.Records)
			if found.Torn != nil {
				require.Equal(t, tt.data[found.Size:], d.bytes(mended.Kept))
			}
			again, err := journal.Mend(d, name, nil)
			require.NoError(t, err)
			require.Nil(t, again.Torn)
		})
	}
}

// What is torn off later does not take the place of what was torn off before.
func TestTornTwice(t *testing.T) {
	whole, name := written(t, drive("drill A", 2))
	d := with(name, whole[:len(whole)-5])
	for _, kept := range []string{name + ".torn", name + "-2.torn"} {
		found, err := journal.Mend(d, name, nil)
		require.NoError(t, err)
		require.Equal(t, kept, found.Kept)
		f, err := d.Open(name)
		require.NoError(t, err)
		f.WriteAt([]byte(kept), found.Size)
	}
	require.Equal(t, name+"-2.torn", string(d.bytes(name))[len(d.bytes(name))-len(name+"-2.torn"):])
}

// Where the torn end cannot be kept, nothing is cut off.
func TestTornOnFullDisk(t *testing.T) {
	whole, name := written(t, drive("drill A", 2))
	d := with(name, whole[:len(whole)-5])
	d.room = 0
	_, err := journal.Mend(d, name, nil)
	require.ErrorIs(t, err, syscall.ENOSPC)
	require.Equal(t, whole[:len(whole)-5], d.bytes(name))
}

// A disk fills up at any byte of a record: it is told at once, the file holds
// whole records and what follows them is torn, and when there is room again
// all is there, in order.
func TestDiskFull(t *testing.T) {
	records := drive("drill A", 8)
	whole, _ := written(t, records)
	for room := range len(whole) + 1 {
		d := newDisk()
		d.room = room
		j, err := journal.Create(d, "drill A", start, unsynced)
		full := func(err error, i int) {
			var waiting *journal.WaitingError
			written := bytes.Count(whole[:room], []byte("\n")) - 1
			if bytes.Count(whole[:min(room, len(whole))], []byte("\n")) > i {
				require.NoError(t, err, "room for %d bytes, record %d", room, i)
				return
			}
			require.ErrorIs(t, err, syscall.ENOSPC, "room for %d bytes, record %d", room, i)
			require.ErrorAs(t, err, &waiting)
			require.Equal(t, max(0, i-max(0, written)), waiting.Records, "room for %d bytes, record %d", room, i)
			require.Equal(t, err, j.Status().Err)
		}
		full(err, 0)
		for i, r := range records {
			full(j.Append(r), i+1)
		}
		got, _ := read(t, d.bytes(j.Name()))
		requireRecords(t, records[:len(got)], got)
		step := 1 + room%97 // room comes bit by bit
		for d.give(step); j.Sync() != nil; d.give(step) {
			got, found := read(t, d.bytes(j.Name()))
			requireRecords(t, records[:len(got)], got)
			require.Empty(t, found.Damage)
		}
		require.Equal(t, whole, d.bytes(j.Name()))
		require.NoError(t, j.Close())
		require.Zero(t, j.Status().Waiting)
	}
}

// What waits in memory is bounded: records beyond it are lost, and counted.
func TestDiskFullForLong(t *testing.T) {
	records := drive("drill A", 100)
	d := newDisk()
	d.room = 500
	j, err := journal.Create(d, "drill A", start, journal.Options{Sync: -1, Waiting: 2000})
	require.NoError(t, err)
	for _, r := range records {
		err = j.Append(r)
	}
	var waiting *journal.WaitingError
	require.ErrorAs(t, err, &waiting)
	require.Positive(t, waiting.Lost)
	require.Contains(t, err.Error(), fmt.Sprintf("no space left on device; %d records wait in memory, %d are lost", waiting.Records, waiting.Lost))
	d.give(1 << 20)
	require.NoError(t, j.Sync())
	status := j.Status()
	require.Equal(t, 100-waiting.Lost, status.Records)
	require.NoError(t, j.Append(records[99]))
	require.NoError(t, j.Close())
	got, _ := read(t, d.bytes(j.Name()))
	requireRecords(t, append(slices.Clone(records[:100-waiting.Lost]), records[99]), got)
}

// A disk that fails to sync may have dropped what was written: it is written
// again, and told until it is safe.
func TestSyncFails(t *testing.T) {
	records := drive("drill A", 30)
	whole, _ := written(t, records)
	d := newDisk()
	j, err := journal.Create(d, "drill A", start, unsynced)
	require.NoError(t, err)
	for i, r := range records {
		d.broke(i >= 10 && i < 20)
		err := j.Append(r)
		if i > 10 && i < 20 {
			var waiting *journal.WaitingError
			require.ErrorAs(t, err, &waiting, "record %d", i)
			require.ErrorIs(t, err, syscall.EIO)
			require.Equal(t, i+1-10, waiting.Records, "none of them is known to be safe")
		} else if i < 10 {
			require.NoError(t, err)
		}
		require.Equal(t, i >= 10 && i < 20, j.Sync() != nil, "record %d", i)
	}
	require.NoError(t, j.Close())
	require.Equal(t, whole, d.bytes(j.Name()))
}

// The power fails at any moment: all that was synced is there, and of the rest
// no record that was not appended.
func TestPowerCut(t *testing.T) {
	records := drive("drill A", 60)
	for seed := range uint64(400) {
		r := rand.New(rand.NewPCG(seed, 1))
		d := newDisk()
		if r.IntN(2) == 0 {
			d.room = r.IntN(6000)
		}
		j, err := journal.Create(d, "drill A", start, unsynced)
		if err != nil && !errors.Is(err, syscall.ENOSPC) {
			t.Fatal(err)
		}
		synced := 0
		for i := range r.IntN(len(records)) {
			j.Append(records[i])
			if r.IntN(6) == 0 && j.Sync() == nil {
				synced = i + 1
			}
		}
		data := d.cut(j.Name(), r)
		got, _ := read(t, data)
		require.GreaterOrEqual(t, len(got), synced, "seed %d", seed)
		requireRecords(t, records[:synced], got[:synced], "seed %d", seed)
		next := synced
		for _, g := range got[synced:] {
			at := slices.IndexFunc(records[next:], func(r journal.Record) bool { return show(r) == show(g) })
			require.GreaterOrEqual(t, at, 0, "seed %d: %v was never appended, or comes twice", seed, g)
			next += at + 1
		}
		again := with(j.Name(), data)
		found, err := journal.Mend(again, j.Name(), nil)
		require.NoError(t, err)
		require.Equal(t, len(got), found.Records)
	}
}

// It syncs by itself, and ends with Close.
func TestSyncsByItself(t *testing.T) {
	d := newDisk()
	j, err := journal.Create(d, "drill A", start, journal.Options{Sync: time.Millisecond})
	require.NoError(t, err)
	records := drive("drill A", 3)
	for _, r := range records {
		require.NoError(t, j.Append(r))
		size, err := d.files[j.Name()].Size()
		require.NoError(t, err)
		require.Eventually(t, func() bool { return j.Status().Synced == size }, 10*time.Second, time.Millisecond)
	}
	got, _ := read(t, d.cut(j.Name(), rand.New(rand.NewPCG(1, 1))))
	requireRecords(t, records, got)
	require.NoError(t, j.Close())
	require.NoError(t, j.Close())
	require.EqualError(t, j.Append(records[0]), j.Name()+": the journal is closed")
	require.EqualError(t, j.Sync(), j.Name()+": the journal is closed")
	syncs := d.syncs
	time.Sleep(20 * time.Millisecond)
	require.Equal(t, syncs, d.syncs)
}

// Several goroutines may append, sync and ask at once.
func TestAtOnce(t *testing.T) {
	d := newDisk()
	j, err := journal.Create(d, "drill A", start, journal.Options{Sync: time.Millisecond})
	require.NoError(t, err)
	records := drive("drill A", 300)
	var all sync.WaitGroup
	for part := range slices.Chunk(records, 100) {
		all.Go(func() {
			for _, r := range part {
				if err := j.Append(r); err != nil {
					t.Error(err)
				}
				j.Status()
				io.Copy(io.Discard, j.Range(0))
			}
		})
	}
	all.Wait()
	require.NoError(t, j.Close())
	got, found := read(t, d.bytes(j.Name()))
	require.Empty(t, found.Warnings())
	slices.SortFunc(got, func(a, b journal.Record) int { return int(a.Time - b.Time) })
	requireRecords(t, records, got)
}

// Ranges of a journal that grows, fetched in any size, cut short and twice, put
// together give the journal; and reading goes on from any record's end.
func TestRanges(t *testing.T) {
	records := drive("drill A", 50)
	d := newDisk()
	j, err := journal.Create(d, "drill A", start, unsynced)
	require.NoError(t, err)
	r := rand.New(rand.NewPCG(3, 3))
	var copied []byte
	var got []journal.Record
	read := int64(0)
	for i := 0; len(got) < len(records); i++ {
		if i < len(records) {
			require.NoError(t, j.Append(records[i]))
			if i%4 == 0 || i == len(records)-1 {
				require.NoError(t, j.Sync())
			}
		}
		from := int64(max(0, len(copied)-r.IntN(100))) // again what is there already
		piece, err := io.ReadAll(io.LimitReader(j.Range(from), int64(r.IntN(200))))
		require.NoError(t, err)
		if end := int(from) + len(piece); end > len(copied) {
			require.True(t, bytes.HasPrefix(piece, copied[from:]))
			copied = append(copied, piece[len(copied)-int(from):]...)
		}
		require.LessOrEqual(t, int64(len(copied)), j.Status().Synced, "nothing is passed on that a power cut could take back")
		in := journal.NewReader(bytes.NewReader(copied[read:]), read)
		for {
			record, err := in.Next()
			var torn *journal.Torn
			if errors.As(err, &torn) {
				require.Equal(t, in.Offset(), torn.Offset)
				continue
			} else if err != nil {
				require.ErrorIs(t, err, io.EOF)
				break
			}
			got = append(got, record)
		}
		read = in.Offset()
	}
	requireRecords(t, records, got)
	require.Equal(t, d.bytes(j.Name()), copied)
}

// What is passed on ends with a whole record, even where a full disk has part
// of the next.
func TestRangeOnFullDisk(t *testing.T) {
	d := newDisk()
	j, err := journal.Create(d, "drill A", start, unsynced)
	require.NoError(t, err)
	records := drive("drill A", 4)
	require.NoError(t, j.Append(records[0]))
	d.room = 30
	require.Error(t, j.Append(records[1]))
	require.Error(t, j.Sync())
	data, err := io.ReadAll(j.Range(0))
	require.NoError(t, err)
	got, found := read(t, data)
	requireRecords(t, records[:1], got)
	require.Nil(t, found.Torn)
	require.Len(t, d.bytes(j.Name()), len(data)+30)
	require.Empty(t, must(io.ReadAll(j.Range(int64(len(data))))))
	require.Empty(t, must(io.ReadAll(j.Range(1<<40))))
}

func must(data []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return data
}

func TestRefused(t *testing.T) {
	j, err := journal.Create(newDisk(), "drill A", start, unsynced)
	require.NoError(t, err)
	good := drive("drill A", 1)[0]
	tests := []struct {
		change func(*journal.Record)
		want   string
	}{
		{func(r *journal.Record) { r.At.Lat = 90.1 }, "record: lat: found 90.1, want degrees from -90 to 90"},
		{func(r *journal.Record) { r.At.Lat = math.NaN() }, "record: lat: found NaN, want degrees from -90 to 90"},
		{func(r *journal.Record) { r.At.Lon = -181 }, "record: lon: found -181, want degrees from -180 to 180"},
		{func(r *journal.Record) { r.Quality = geo.NoFix }, "record: quality: found no fix, want the quality of a position"},
		{func(r *journal.Record) { r.Heading = 360 }, "record: heading: found 360, want degrees from 0 to 360, or none"},
		{func(r *journal.Record) { r.Speed = -1 }, "record: speed: found -1, want metres a second, or none"},
		{func(r *journal.Record) { r.Speed = math.Inf(1) }, "record: speed: found +Inf, want metres a second, or none"},
		{func(r *journal.Record) { r.Time = math.MinInt64 }, "record: time: found the year 1677, want one from 1678 to 2261"},
		{func(r *journal.Record) { r.Row = 3 }, "record: row: found 3, want 0"},
		{func(r *journal.Record) { r.Working = "yes" }, `record: working: found "yes", want 1, 0 or an empty string`},
		{func(r *journal.Record) { r.Sections = "1,0" }, `record: sections: found "1,0", want 1 or 0 for each, 256 at most`},
		{func(r *journal.Record) { r.Machine = "drill B" }, `drill-A-20260504T140311Z.csv: found a record of "drill B", want one of "drill A"`},
	}
	for _, tt := range tests {
		r := good
		tt.change(&r)
		require.EqualError(t, j.Append(r), tt.want)
	}
	require.Zero(t, j.Status().Records)
	for name, want := range map[string]string{
		"a\nb":                   `machine: found "a\nb", want a name without control characters`,
		" a":                     `machine: found " a", want a name without blanks around it`,
		"\xff":                   `machine: found "\xff", want a name in UTF-8`,
		strings.Repeat("a", 201): "machine: found a name of 201 bytes, want 200 at most",
	} {
		_, err := journal.Create(newDisk(), name, start, unsynced)
		require.EqualError(t, err, want)
	}
	whole, name := written(t, drive("drill A", 2))
	_, _, err = journal.Open(with(name, whole), name, "drill B", unsynced, nil)
	require.EqualError(t, err, name+`: found a journal of "drill A", want one of "drill B"`)
	_, _, err = journal.Open(newDisk(), name, "drill A", unsynced, nil)
	require.ErrorIs(t, err, fs.ErrNotExist)
}

// One file for each machine and start, with a name that every system takes.
func TestNames(t *testing.T) {
	d := newDisk()
	for _, tt := range []struct{ machine, want string }{
		{"drill A", "drill-A-20260504T140311Z.csv"},
		{"drill A", "drill-A-20260504T140311Z-2.csv"},
		{"drill-A", "drill-A-20260504T140311Z-3.csv"},
		{"../../etc/passwd", "etc-passwd-20260504T140311Z.csv"},
		{`C:\NUL`, "C--NUL-20260504T140311Z.csv"},
		{"Sämaschine 1", "Sämaschine-1-20260504T140311Z.csv"},
		{"", "20260504T140311Z.csv"},
		{strings.Repeat("å", 90), strings.Repeat("å", 60) + "-20260504T140311Z.csv"},
	} {
		j, err := journal.Create(d, tt.machine, start.In(time.FixedZone("", 3600)), unsynced)
		require.NoError(t, err)
		require.Equal(t, tt.want, j.Name())
		require.NoError(t, j.Close())
	}
}

// On a real disk.
func TestOnDisk(t *testing.T) {
	root, err := os.OpenRoot(t.TempDir())
	require.NoError(t, err)
	defer root.Close()
	records := drive("drill A", 40)
	j, err := journal.Create(journal.In(root), "drill A", start, journal.Options{})
	require.NoError(t, err)
	for _, r := range records[:20] {
		require.NoError(t, j.Append(r))
	}
	require.NoError(t, j.Close())
	f, err := root.OpenFile(j.Name(), os.O_WRONLY|os.O_APPEND, 0)
	require.NoError(t, err)
	f.WriteString("2026-05-04T14:03:1")
	f.Close()
	var got []journal.Record
	j, found, err := journal.Open(journal.In(root), j.Name(), "drill A", journal.Options{}, func(r journal.Record) { got = append(got, r) })
	require.NoError(t, err)
	requireRecords(t, records[:20], got)
	require.Equal(t, j.Name()+".torn", found.Kept)
	require.Equal(t, 20, j.Status().Records)
	for _, r := range records[20:] {
		require.NoError(t, j.Append(r))
	}
	require.NoError(t, j.Close())
	data, err := root.ReadFile(j.Name())
	require.NoError(t, err)
	got, found = read(t, data)
	requireRecords(t, records, got)
	require.Empty(t, found.Warnings())
	torn, err := root.ReadFile(j.Name() + ".torn")
	require.NoError(t, err)
	require.Equal(t, "2026-05-04T14:03:1", string(torn))
}

// Appending leaves nothing to the garbage collector.
func TestNoAllocation(t *testing.T) {
	root, err := os.OpenRoot(t.TempDir())
	require.NoError(t, err)
	defer root.Close()
	j, err := journal.Create(journal.In(root), "drill A", start, unsynced)
	require.NoError(t, err)
	defer j.Close()
	r := drive("drill A", 1)[0]
	for range 2000 {
		require.NoError(t, j.Append(r))
	}
	require.NoError(t, j.Sync())
	require.Zero(t, testing.AllocsPerRun(500, func() { j.Append(r) }))
}

// Whatever a file holds: no panic, every byte is a record's, damaged or torn,
// and each record is one that reads back.
func FuzzReader(f *testing.F) {
	whole, _ := written(f, drive(`drill "A", north`, 3))
	f.Add(whole, 0)
	f.Add(whole[:len(whole)-4], 0)
	f.Add(bytes.Replace(whole, []byte("14:03"), []byte("14-03"), 1), 100)
	f.Add(bytes.Repeat(append(bytes.Repeat([]byte("x"), 70000), '\n'), 2), 0)
	f.Fuzz(func(t *testing.T, data []byte, at int) {
		lines := bytes.SplitAfter(whole, []byte("\n"))
		if at > 0 && len(data) > 0 {
			at %= len(data)
			data = slices.Concat(data[:at], []byte("\n"), lines[1], data[at:])
		}
		in := journal.NewReader(bytes.NewReader(data), 0)
		records, damaged := 0, int64(0)
		var torn *journal.Torn
		for {
			record, err := in.Next()
			var damage *journal.Damage
			if errors.As(err, &damage) {
				damaged += damage.Length
				require.Positive(t, damage.Length)
				continue
			} else if errors.As(err, &torn) {
				continue
			} else if err != nil {
				require.ErrorIs(t, err, io.EOF)
				break
			}
			records++
			again, _ := written(t, []journal.Record{record})
			got, _ := read(t, again)
			requireRecords(t, []journal.Record{record}, got)
		}
		if at > 0 && len(data) > 0 {
			require.Positive(t, records)
		}
		end := in.Offset()
		if torn != nil {
			require.Equal(t, end, torn.Offset)
			end += torn.Length
		}
		require.Equal(t, int64(len(data)), end)
		require.LessOrEqual(t, damaged, in.Offset())
	})
}

func BenchmarkAppend(b *testing.B) {
	root, err := os.OpenRoot(b.TempDir())
	require.NoError(b, err)
	defer root.Close()
	j, err := journal.Create(journal.In(root), "drill A", start, journal.Options{})
	require.NoError(b, err)
	records := drive("drill A", 1000)
	for i := 0; b.Loop(); i++ {
		if err := j.Append(records[i%1000]); err != nil {
			b.Fatal(err)
		}
	}
	require.NoError(b, j.Close())
}

// A day of 12 hours at 10 Hz.
func BenchmarkRead(b *testing.B) {
	data, _ := written(b, drive("drill A", 432_000))
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		found, err := journal.Read(bytes.NewReader(data), nil)
		if err != nil || found.Records != 432_000 {
			b.Fatal(found, err)
		}
	}
}
