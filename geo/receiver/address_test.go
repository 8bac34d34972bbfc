package receiver_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"lapwing/geo/receiver"
)

func TestParseAddress(t *testing.T) {
	tests := []struct {
		text string
		want receiver.Address
	}{
		{"serial:/dev/ttyUSB0", receiver.Address{Kind: receiver.Serial, Place: "/dev/ttyUSB0", Speed: 1}},
		{"serial:COM3?baud=38400", receiver.Address{Kind: receiver.Serial, Place: "COM3", Baud: 38400, Speed: 1}},
		{"serial:/dev/ttyUSB0?baud=38400&machine=drill%20A", receiver.Address{Kind: receiver.Serial, Place: "/dev/ttyUSB0", Baud: 38400, Machine: "drill A", Speed: 1}},
		{"tcp:192.168.1.5:10110", receiver.Address{Kind: receiver.TCP, Place: "192.168.1.5:10110", Speed: 1}},
		{"tcp:[fe80::1%eth0]:10110", receiver.Address{Kind: receiver.TCP, Place: "[fe80::1%eth0]:10110", Speed: 1}},
		{"udp::10110?machine=sprayer", receiver.Address{Kind: receiver.UDP, Place: ":10110", Machine: "sprayer", Speed: 1}},
		{"gpsd:localhost:2947", receiver.Address{Kind: receiver.Gpsd, Place: "localhost:2947", Speed: 1}},
		{"-", receiver.Address{Kind: receiver.Stdin, Speed: 1}},
		{"-?machine=drill+B", receiver.Address{Kind: receiver.Stdin, Machine: "drill B", Speed: 1}},
		{"file:day 1.nmea?speed=20", receiver.Address{Kind: receiver.File, Place: "day 1.nmea", Speed: 20}},
		{"file:C:/logs/day.csv?speed=0", receiver.Address{Kind: receiver.File, Place: "C:/logs/day.csv", Speed: 0}},
		{"file:day.csv?", receiver.Address{Kind: receiver.File, Place: "day.csv", Speed: 1}},
	}
	for _, tt := range tests {
		got, err := receiver.ParseAddress(tt.text)
		require.NoError(t, err, tt.text)
		require.Equal(t, tt.want, got, tt.text)
		again, err := receiver.ParseAddress(got.String())
		require.NoError(t, err, got.String())
		require.Equal(t, got, again)
	}
}

func TestWrongAddress(t *testing.T) {
	tests := []struct{ text, want string }{
		{"serail:/dev/ttyUSB0", `"serail:/dev/ttyUSB0": found the kind "serail", want "serial"`},
		{"", `"": found the kind "", want serial:PORT, tcp:HOST:PORT, udp:HOST:PORT, gpsd:HOST:PORT, - or file:LOG`},
		{"/dev/ttyUSB0", `"/dev/ttyUSB0": found the kind "/dev/ttyUSB0", want serial:PORT, tcp:HOST:PORT, udp:HOST:PORT, gpsd:HOST:PORT, - or file:LOG`},
		{"serial:", `"serial:": found "serial:", want serial:PORT`},
		{"serial", `"serial": found "serial", want serial:PORT`},
		{"-:x", `"-:x": found "-:x", want -`},
		{"tcp:10110", `"tcp:10110": found "10110", want tcp:HOST:PORT`},
		{"tcp::10110", `"tcp::10110": found no host before :10110, want tcp:HOST:PORT`},
		{"udp:host:nmea", `"udp:host:nmea": found the port "nmea", want udp:HOST:PORT`},
		{"gpsd:host:70000", `"gpsd:host:70000": found the port "70000", want gpsd:HOST:PORT`},
		{"serial:/dev/ttyUSB0?buad=38400", `"serial:/dev/ttyUSB0?buad=38400": found the option "buad", want "baud"`},
		{"serial:/dev/ttyUSB0?colour=red", `"serial:/dev/ttyUSB0?colour=red": found the option "colour", want baud or machine after serial:PORT`},
		{"tcp:host:1?baud=9600", `"tcp:host:1?baud=9600": found the option "baud", want machine after tcp:HOST:PORT`},
		{"serial:a?baud=fast", `"serial:a?baud=fast": found baud="fast", want bits per second such as 38400, or no baud to have it found`},
		{"serial:a?baud=0", `"serial:a?baud=0": found baud="0", want bits per second such as 38400, or no baud to have it found`},
		{"serial:a?baud=9600&baud=4800", `"serial:a?baud=9600&baud=4800": found 2 times the option "baud", want it once`},
		{"serial:a?machine=", `"serial:a?machine=": found machine="", want the name of a machine`},
		{"serial:a?machine=%zz", `"serial:a?machine=%zz": found the options "machine=%zz", want options such as machine=drill%20A, joined by &`},
		{"file:a?speed=-1", `"file:a?speed=-1": found speed="-1", want how many times as fast, such as 20, or 0 for as fast as it goes`},
		{"file:a?speed=NaN", `"file:a?speed=NaN": found speed="NaN", want how many times as fast, such as 20, or 0 for as fast as it goes`},
	}
	for _, tt := range tests {
		_, err := receiver.ParseAddress(tt.text)
		require.EqualError(t, err, tt.want)
		require.NotContains(t, err.Error(), "\n")
	}
}

// Whatever an address holds: an error of one line, or an address that its own
// text gives again.
func FuzzParseAddress(f *testing.F) {
	for _, seed := range []string{"serial:/dev/ttyUSB0?baud=38400&machine=drill%20A", "udp::1", "-?machine=a", "file:a?speed=1e3", "tcp:[::1]:2"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		at, err := receiver.ParseAddress(text)
		if err != nil {
			require.False(t, strings.ContainsAny(err.Error(), "\r\n"))
			return
		}
		again, err := receiver.ParseAddress(at.String())
		require.NoError(t, err, at.String())
		require.Equal(t, at, again)
	})
}
