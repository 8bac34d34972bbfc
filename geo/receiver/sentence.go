package receiver

import (
	"bytes"
	"math"
	"strconv"
	"time"

	"lapwing/geo"
)

const (
	// maxSentence is the longest text taken for a sentence: the standard has 82
	// characters, receivers with many digits go a little beyond.
	maxSentence = 256
	// maxFields is more than any sentence read here has.
	maxFields = 32
)

// A framer cuts sentences out of bytes: from "$" to the two digits of the
// checksum. It keeps what it has of one that is not whole yet.
type framer struct {
	text   [maxSentence]byte
	n      int // bytes of the sentence at hand, without "$"; 0 may be one just begun
	within bool
	star   int  // where its "*" is, 0 before it
	sum    byte // of what stands between "$" and "*"
}

// next takes bytes up to the end of the first whole sentence, which it returns
// without "$" and checksum; rest is what follows. A sentence that is not right
// is counted.
func (f *framer) next(data []byte, counts *Counts) (sentence, rest []byte) {
	for i, c := range data {
		switch {
		case c == '$' || c == '!':
			if f.within {
				counts.CutShort++
			}
			f.n, f.star, f.sum, f.within = 0, 0, 0, true
		case !f.within:
		case c < ' ' || c > '~': // a line's end too: whole sentences are out by then
			counts.CutShort++
			f.within = false
		case f.n == maxSentence:
			counts.TooLong++
			f.within = false
		default:
			f.text[f.n] = c
			f.n++
			if f.star == 0 && c == '*' && f.n > 1 {
				f.star = f.n
			} else if f.star == 0 {
				f.sum ^= c
			}
			if f.star == 0 || f.n < f.star+2 {
				continue
			}
			f.within = false
			if sum, ok := hexByte(f.text[f.star], f.text[f.star+1]); !ok || sum != f.sum {
				counts.WrongChecksum++
				continue
			}
			counts.Sentences++
			return f.text[:f.star-1], data[i+1:]
		}
	}
	return nil, nil
}

// drop forgets a sentence that is not whole.
func (f *framer) drop() { f.within = false }

func hexByte(a, b byte) (byte, bool) {
	high, ok := hexDigit(a)
	low, ok2 := hexDigit(b)
	return high<<4 | low, ok && ok2
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c-'0' <= 9:
		return c - '0', true
	case c-'A' <= 5:
		return c - 'A' + 10, true
	case c-'a' <= 5:
		return c - 'a' + 10, true
	}
	return 0, false
}

// fields are those of one sentence, without its address. Their methods give
// false where a field is missing or does not hold what it should; an empty
// field is right.
type fields struct {
	at [maxFields][]byte
	n  int
}

func (f *fields) split(text []byte) {
	for f.n = 0; f.n < maxFields; f.n++ {
		end := bytes.IndexByte(text, ',')
		if end < 0 {
			f.at[f.n] = text
			f.n++
			return
		}
		f.at[f.n], text = text[:end], text[end+1:]
	}
}

// number is a decimal number; NaN where the field is empty.
func (f *fields) number(i int) (float64, bool) {
	if i >= f.n {
		return 0, false
	}
	return number(f.at[i])
}

func number(text []byte) (float64, bool) {
	if len(text) == 0 {
		return math.NaN(), true
	}
	digits := text
	if text[0] == '-' || text[0] == '+' {
		digits = text[1:]
	}
	for _, c := range digits {
		if c-'0' > 9 && c != '.' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(string(text), 64) // does not keep the string, so none is made
	return v, err == nil
}

// whole is a whole number; 0 where the field is empty.
func (f *fields) whole(i int) (int64, bool) {
	if i >= f.n {
		return 0, false
	}
	if len(f.at[i]) == 0 {
		return 0, true
	}
	v, err := strconv.ParseInt(string(f.at[i]), 10, 64)
	return v, err == nil
}

// clock is a time of day as hhmmss.sss, to the millisecond, in nanoseconds;
// none tells an empty field. The second may be 60: a leap second.
func (f *fields) clock(i int) (at int64, none, ok bool) {
	if i >= f.n {
		return 0, false, false
	}
	text := f.at[i]
	if len(text) == 0 {
		return 0, true, true
	}
	if len(text) < 6 || len(text) > 6 && text[6] != '.' {
		return 0, false, false
	}
	hour, ok1 := twoDigits(text)
	minute, ok2 := twoDigits(text[2:])
	_, ok3 := twoDigits(text[4:])
	if !ok1 || !ok2 || !ok3 || hour > 23 || minute > 59 {
		return 0, false, false
	}
	seconds, ok := number(text[4:])
	if !ok || !(seconds < 61) {
		return 0, false, false
	}
	sec, part := math.Modf(seconds)
	return int64(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute +
		time.Duration(sec)*time.Second + time.Duration(math.Round(part*1000))*time.Millisecond), false, true
}

func twoDigits(text []byte) (int, bool) {
	if len(text) < 2 || text[0]-'0' > 9 || text[1]-'0' > 9 {
		return 0, false
	}
	return int(text[0]-'0')*10 + int(text[1]-'0'), true
}

// position reads the four fields ddmm.mmmm,N,dddmm.mmmm,E from i on; none
// tells that they hold no position.
func (f *fields) position(i int) (at geo.LonLat, none, ok bool) {
	if i+3 >= f.n {
		return geo.LonLat{}, false, false
	}
	if len(f.at[i]) == 0 && len(f.at[i+2]) == 0 {
		return geo.LonLat{}, true, true
	}
	lat, okLat := degrees(f.at[i], f.at[i+1], 'N', 'S', 90)
	lon, okLon := degrees(f.at[i+2], f.at[i+3], 'E', 'W', 180)
	return geo.LonLat{Lon: lon, Lat: lat}, false, okLat && okLon
}

// degrees reads dddmm.mmmm with its half of the Earth.
func degrees(text, half []byte, plus, minus byte, most float64) (float64, bool) {
	v, ok := number(text)
	if !ok || !(v >= 0 && v <= most*100) || math.Mod(v, 100) >= 60 || len(half) != 1 || half[0] != plus && half[0] != minus {
		return 0, false
	}
	whole := math.Floor(v / 100)
	minutes := v - whole*100
	v = whole + minutes/60
	if half[0] == minus {
		v = 0 - v
	}
	return v, true
}

// date is a date as ddmmyy, in seconds since 1970; noDate where the field is
// empty. Years from 80 on are of the last century: GPS time begins in 1980.
func (f *fields) date(i int) (int64, bool) {
	if i >= f.n {
		return noDate, false
	}
	text := f.at[i]
	if len(text) == 0 {
		return noDate, true
	}
	if len(text) != 6 {
		return noDate, false
	}
	dom, ok1 := twoDigits(text)
	month, ok2 := twoDigits(text[2:])
	year, ok3 := twoDigits(text[4:])
	if !ok1 || !ok2 || !ok3 {
		return noDate, false
	}
	if year += 2000; year >= 2080 {
		year -= 100
	}
	return dateOf(year, month, dom), true
}

// dateOf is noDate where the calendar has no such date.
func dateOf(year, month, dom int) int64 {
	t := time.Date(year, time.Month(month), dom, 0, 0, 0, 0, time.UTC)
	if t.Day() != dom || int(t.Month()) != month || year < 1980 || year > 2261 {
		return noDate
	}
	return t.Unix()
}

// one reports whether a field is empty or one of the letters.
func (f *fields) one(i int, letters string) bool {
	return i < f.n && (len(f.at[i]) == 0 || len(f.at[i]) == 1 && bytes.IndexByte([]byte(letters), f.at[i][0]) >= 0)
}
