package receiver

import (
	"fmt"
	"maps"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/agnivade/levenshtein"
)

// A Kind is a way to reach a receiver.
type Kind uint8

// The kinds of source. The zero Kind is none.
const (
	Serial Kind = iota + 1 // a serial port, by its name
	TCP                    // a server that sends sentences
	UDP                    // a port here to which sentences are sent
	Gpsd                   // a gpsd
	Stdin                  // standard input
	File                   // a log, played
)

// kindWords are what an address of a kind looks like.
type kindWords struct {
	kind    Kind
	word    string
	form    string
	options []string
}

// kinds are the words of an address, its form and the options it may have, in
// the order in which errors list them.
var kinds = []kindWords{
	{Serial, "serial", "serial:PORT", []string{"baud", "machine"}},
	{TCP, "tcp", "tcp:HOST:PORT", []string{"machine"}},
	{UDP, "udp", "udp:HOST:PORT", []string{"machine"}},
	{Gpsd, "gpsd", "gpsd:HOST:PORT", []string{"machine"}},
	{Stdin, "-", "-", []string{"machine"}},
	{File, "file", "file:LOG", []string{"machine", "speed"}},
}

// String returns the word for k in an address.
func (k Kind) String() string {
	for _, of := range kinds {
		if of.kind == k {
			return of.word
		}
	}
	return "none"
}

// An Address says where a receiver is heard, and of which machine it is.
type Address struct {
	Kind    Kind
	Place   string // the port's name, HOST:PORT or the path of a log; "" for standard input
	Machine string // the name of the machine; "" where the address names none
	// Baud is the speed of a serial port in bits per second; 0: it is found.
	Baud int
	// Speed is how many times as fast as it was logged a log is played; 0: as
	// fast as it goes. It is 1 where the address does not say.
	Speed float64
}

// String returns a as [ParseAddress] takes it.
func (a Address) String() string {
	text := a.Kind.String()
	if a.Kind != Stdin {
		text += ":" + a.Place
	}
	mark := "?"
	option := func(key, value string) {
		text += mark + key + "=" + url.QueryEscape(value)
		mark = "&"
	}
	if a.Baud != 0 {
		option("baud", strconv.Itoa(a.Baud))
	}
	if a.Machine != "" {
		option("machine", a.Machine)
	}
	if a.Kind == File && a.Speed != 1 {
		option("speed", strconv.FormatFloat(a.Speed, 'g', -1, 64))
	}
	return text
}

// An AddressError says what is wrong with an address, in one line.
type AddressError struct {
	Address string // as it was given
	Found   string
	Want    string
}

func (e *AddressError) Error() string {
	return fmt.Sprintf("%q: found %s, want %s", e.Address, e.Found, e.Want)
}

// ParseAddress reads an address: serial:PORT, tcp:HOST:PORT, udp:HOST:PORT,
// gpsd:HOST:PORT, - for standard input, or file:LOG; its options follow ?,
// joined by &, such as serial:/dev/ttyUSB0?baud=38400&machine=drill%20A. An
// error is an [*AddressError]; one of an unknown word names the nearest.
func ParseAddress(text string) (Address, error) {
	fail := func(found, want string) (Address, error) {
		return Address{}, &AddressError{Address: text, Found: found, Want: want}
	}
	body, query, _ := strings.Cut(text, "?")
	word, place, colon := strings.Cut(body, ":")
	at := slices.IndexFunc(kinds, func(k kindWords) bool { return k.word == word })
	if at < 0 {
		return fail("the kind "+strconv.Quote(word), wantKind(word))
	}
	of := kinds[at]
	a := Address{Kind: of.kind, Place: place, Speed: 1}
	if colon != (a.Kind != Stdin) || a.Kind != Stdin && place == "" {
		return fail(strconv.Quote(body), of.form)
	}
	if a.Kind == TCP || a.Kind == UDP || a.Kind == Gpsd {
		if found := wrongHostPort(place, a.Kind == UDP); found != "" {
			return fail(found, of.form)
		}
	}
	options, err := url.ParseQuery(query)
	if err != nil {
		return fail("the options "+strconv.Quote(query), "options such as machine=drill%20A, joined by &")
	}
	for _, key := range slices.Sorted(maps.Keys(options)) {
		if !slices.Contains(of.options, key) {
			return fail("the option "+strconv.Quote(key), wantOption(key, of.form, of.options))
		}
		if n := len(options[key]); n > 1 {
			return fail(fmt.Sprintf("%d times the option %q", n, key), "it once")
		}
		if found, want := a.set(key, options[key][0]); want != "" {
			return fail(found, want)
		}
	}
	return a, nil
}

// set gives an option its value; want is not "" where that makes no sense.
func (a *Address) set(key, value string) (found, want string) {
	found = key + "=" + strconv.Quote(value)
	switch key {
	case "machine":
		if a.Machine = value; value == "" {
			return found, "the name of a machine"
		}
	case "baud":
		const most = 10_000_000 // no serial adapter we know of goes faster
		n, err := strconv.Atoi(value)
		if err != nil || n <= 0 || n > most {
			return found, "bits per second such as 38400, or no baud to have it found"
		}
		a.Baud = n
	case "speed":
		const most = 1e6 // a day in a tenth of a second; faster is 0
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || !(v >= 0 && v <= most) {
			return found, "how many times as fast, such as 20, or 0 for as fast as it goes"
		}
		a.Speed = v
	}
	return "", ""
}

// wrongHostPort says what is wrong with HOST:PORT; "" where it is right. A port
// here may be given without a host: all addresses of this machine.
func wrongHostPort(place string, here bool) string {
	host, port, err := net.SplitHostPort(place)
	if err != nil {
		return strconv.Quote(place)
	}
	if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 {
		return "the port " + strconv.Quote(port)
	}
	if host == "" && !here {
		return "no host before :" + port
	}
	return ""
}

func wantKind(word string) string {
	var words, forms []string
	for _, k := range kinds {
		words = append(words, k.word)
		forms = append(forms, k.form)
	}
	if near := nearest(word, words); near != "" {
		return strconv.Quote(near)
	}
	return strings.Join(forms[:len(forms)-1], ", ") + " or " + forms[len(forms)-1]
}

func wantOption(key, form string, options []string) string {
	if near := nearest(key, options); near != "" {
		return strconv.Quote(near)
	}
	return strings.Join(options, " or ") + " after " + form
}

// nearest is the one of known that was likely meant by word; "" if none is
// near. At most one letter in four, and one more, may be wrong; of equally
// near ones the first listed is taken.
func nearest(word string, known []string) string {
	best, least := "", 2+len(word)/4
	for _, k := range known {
		if d := levenshtein.ComputeDistance(strings.ToLower(word), k); len(word) > 1 && d < least {
			best, least = k, d
		}
	}
	return best
}
