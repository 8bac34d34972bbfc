package crew

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"lapwing/geo/journal"
)

// An Address is where another cab is asked, with the key to it.
type Address struct {
	base url.URL // without the key
	key  string
}

var keyPattern = regexp.MustCompile(`^[A-Za-z0-9]+$`)

const shortestKey, longestKey = 8, 100

var pathPattern = regexp.MustCompile(`^(/[A-Za-z0-9-]+)*/?$`)

// ParseAddress reads an address as a cab shows it, http://HOST:PORT/#KEY, or that of a
// relay, https://HOST/PATH/#KEY. The key is in
// no error, and in no text of an address.
func ParseAddress(text string) (Address, error) {
	base, key, _ := strings.Cut(text, "#")
	wrong := func(found string) (Address, error) {
		return Address{}, fmt.Errorf("found %s, want the address that the other cab shows for those who look, such as http://192.168.4.7:8080/#KEY", found)
	}
	u, err := url.Parse(base)
	switch {
	case err != nil:
		return wrong(fmt.Sprintf("%.80q, which is no address", base))
	case u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || u.User != nil || !pathPattern.MatchString(u.Path) || u.RawQuery != "":
		return wrong(fmt.Sprintf("%.80q", u.Redacted()))
	case key == "":
		return wrong(fmt.Sprintf("%.80q without a key", base))
	case !keyPattern.MatchString(key) || len(key) < shortestKey || len(key) > longestKey:
		return wrong(fmt.Sprintf("%.80q with a key that is none", base))
	}
	return Address{url.URL{Scheme: u.Scheme, Host: u.Host, Path: strings.TrimSuffix(u.Path, "/") + "/"}, key}, nil
}

// String is the host and port.
func (a Address) String() string { return a.base.Host }

// A Refusal is an answer of another cab that gives nothing: a status of HTTP, or a listing
// that cannot be one of a cab.
type Refusal struct {
	Status int
	Text   string // what it says, in one line
}

func (e *Refusal) Error() string {
	switch e.Status {
	case http.StatusUnauthorized:
		return "it refuses the key"
	case http.StatusServiceUnavailable:
		return "it has ended"
	case http.StatusNotFound:
		return "it passes no journals on: is it a cab of lapwing, of this version?"
	}
	return fmt.Sprintf("it refuses (%d: %s)", e.Status, e.Text)
}

var (
	// ErrOther says that a journal is not the one that was copied: it does not go on where
	// the copy ends.
	ErrOther = errors.New("it does not go on where its copy here ends; what came stays, and no more is taken of it")
	// ErrNothing says that there is nothing after the end of the copy.
	ErrNothing = errors.New("nothing new")
)

// A Client asks one other cab. Its methods may be called by several goroutines.
type Client struct {
	at    Address
	http  http.Client
	stall time.Duration // the longest that a link may give nothing
}

// MostListing is how many bytes a listing may have: one of a thousand journals has 300 kB.
const MostListing = 4 << 20

// usualStall is how long a link may give nothing before it is given up. Radio links over
// fields stand still for some seconds; a minute would be long for a driver. Judgement.
const usualStall = 15 * time.Second

// NewClient returns a client for an address. Over https the other cab's certificate must be
// signed by an authority that this computer trusts, or be one of trusted.
func NewClient(a Address, trusted []*x509.Certificate) *Client {
	c := &Client{at: a, stall: usualStall}
	transport := &http.Transport{
		DialContext:           (&net.Dialer{Timeout: 5 * time.Second, KeepAlive: 10 * time.Second}).DialContext,
		TLSHandshakeTimeout:   10 * time.Second,
		ResponseHeaderTimeout: usualStall,
		MaxIdleConnsPerHost:   1,
		IdleConnTimeout:       time.Minute,
		DisableCompression:    true, // ranges are of the journal's own bytes
	}
	if len(trusted) > 0 {
		pool, err := x509.SystemCertPool()
		if err != nil {
			pool = x509.NewCertPool()
		}
		for _, one := range trusted {
			pool.AddCert(one)
		}
		transport.TLSClientConfig = &tls.Config{RootCAs: pool}
	}
	c.http.Transport = transport
	c.http.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse } // another address must not get the key
	return c
}

// Address is the address that it asks at.
func (c *Client) Address() Address { return c.at }

// get requests a path. The caller closes the body.
func (c *Client) get(ctx context.Context, path []string, header http.Header, want ...int) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, c.at.base.JoinPath(path...).String(), nil)
	if err != nil {
		return nil, err
	}
	r.Header = header
	return c.do(r, want...)
}

// do sends a request with the key, and fails with a [Refusal] on any status but those
// wanted. The caller closes the body.
func (c *Client) do(r *http.Request, want ...int) (*http.Response, error) {
	r.Header.Set("Authorization", "Bearer "+c.at.key)
	answer, err := c.http.Do(r)
	if err != nil {
		return nil, err
	}
	if slices.Contains(want, answer.StatusCode) {
		return answer, nil
	}
	defer answer.Body.Close()
	said, _ := io.ReadAll(io.LimitReader(answer.Body, 200))
	return nil, &Refusal{answer.StatusCode, oneLine(string(said))}
}

// watched is a context that ends when a link has given nothing for as long as it may. Each
// time that bytes come, came is to be called.
func (c *Client) watched(ctx context.Context) (_ context.Context, came, stop func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	timer := time.AfterFunc(c.stall, func() { cancel(errStalled) })
	return ctx, func() { timer.Reset(c.stall) }, func() { timer.Stop(); cancel(nil) }
}

var errStalled = errors.New("the link stands still")

// List asks which journals there are. Entries that no cab writes are left out.
func (c *Client) List(ctx context.Context) (*Listing, error) {
	ctx, came, stop := c.watched(ctx)
	defer stop()
	answer, err := c.get(ctx, []string{"journals.json"}, http.Header{}, http.StatusOK)
	if err != nil {
		return nil, cause(ctx, err)
	}
	defer answer.Body.Close()
	data, err := io.ReadAll(io.LimitReader(&noting{answer.Body, came}, MostListing))
	if err != nil {
		return nil, cause(ctx, err)
	}
	list := &Listing{}
	if err := json.Unmarshal(data, list); err != nil || list.Schema != Schema || !IsCab(list.Cab) {
		return nil, &Refusal{http.StatusNotFound, ""}
	}
	list.Machines = slices.DeleteFunc(list.Machines, func(m Machine) bool { return !IsCab(m.Cab) })
	list.Journals = slices.DeleteFunc(list.Journals, func(e Entry) bool { return !e.Sensible() })
	return list, nil
}

// A noting reader calls came each time that bytes came.
type noting struct {
	from io.Reader
	came func()
}

func (n *noting) Read(p []byte) (int, error) {
	k, err := n.from.Read(p)
	if k > 0 {
		n.came()
	}
	return k, err
}

// pieceLen is how many bytes of a journal are read at once: some forty records.
const pieceLen = 4 << 10

// Read asks for what follows a copy of end bytes, the last of which are tail, and calls each
// with whole records as they come, up to most bytes. It fails with [ErrOther] where the
// journal does not go on from that tail, and with [ErrNothing] where there is no more yet.
// What came before a link broke was handed on.
func (c *Client) Read(ctx context.Context, e *Entry, end int64, tail []byte, most int64, each func(journal.Piece) error) error {
	ctx, came, stop := c.watched(ctx)
	defer stop()
	from := end - int64(len(tail))
	header := http.Header{}
	header.Set("Range", "bytes="+strconv.FormatInt(from, 10)+"-"+strconv.FormatInt(end+most-1, 10))
	header.Set("If-Match", `"`+e.Identity+`"`)
	answer, err := c.get(ctx, []string{"journals", e.Cab, e.Name}, header,
		http.StatusPartialContent, http.StatusPreconditionFailed, http.StatusRequestedRangeNotSatisfiable)
	if err != nil {
		return cause(ctx, err)
	}
	defer answer.Body.Close()
	switch answer.StatusCode {
	case http.StatusPreconditionFailed:
		return ErrOther
	case http.StatusRequestedRangeNotSatisfiable:
		return ErrNothing
	}
	if begins, _, _ := strings.Cut(answer.Header.Get("Content-Range"), "-"); begins != "bytes "+strconv.FormatInt(from, 10) {
		return ErrOther
	}
	body := io.LimitReader(&noting{answer.Body, came}, int64(len(tail))+most) // as was asked for
	had := make([]byte, len(tail))
	switch n, err := io.ReadFull(body, had); {
	case !bytes.Equal(had[:n], tail[:n]):
		return ErrOther
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		if answer.ContentLength == int64(n) {
			return ErrNothing // the other cab has less of it than this one
		}
		return cause(ctx, err)
	case err != nil:
		return cause(ctx, err)
	}
	var data []byte
	buffer, some := make([]byte, pieceLen), false
	for {
		n, err := body.Read(buffer)
		data = append(data, buffer[:n]...)
		p, damaged := journal.Cut(data, end, e.Machine)
		if len(p.Records) > 0 {
			some = true
			if err := each(p); err != nil {
				return err
			}
			end += int64(len(p.Lines))
			data = append([]byte(nil), data[len(p.Lines):]...)
		}
		switch {
		case damaged != nil:
			return damaged
		case errors.Is(err, io.EOF) && !some:
			return ErrNothing
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return cause(ctx, err)
		}
	}
}

// cause is why a request failed: that the link stood still, where that ended it.
func cause(ctx context.Context, err error) error {
	if why := context.Cause(ctx); errors.Is(why, errStalled) {
		return why
	}
	return err
}

// OutOfReach reports whether an error says that no net leads to the other cab: it was not
// reached, the link broke, or its program has ended.
func OutOfReach(err error) bool {
	var wrong *net.OpError
	var address *url.Error
	var certificate *tls.CertificateVerificationError
	var refused *Refusal
	switch {
	case errors.As(err, &certificate):
		return false
	case errors.As(err, &refused):
		return refused.Status == http.StatusServiceUnavailable // its program is ending
	}
	return errors.Is(err, errStalled) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.As(err, &wrong) || errors.As(err, &address)
}

// Reason says in few words why another cab could not be asked, without its address.
func Reason(err error) string {
	var unknown x509.UnknownAuthorityError
	var invalid x509.CertificateInvalidError
	var name x509.HostnameError
	var damage *journal.Damage
	switch {
	case errors.As(err, &name):
		return "its certificate is for another name (" + oneLine(name.Error()) + "); nothing was sent to it"
	case errors.As(err, &invalid):
		return "its certificate is not valid (" + oneLine(invalid.Error()) + "): is this computer's clock right? Nothing was sent to it"
	case errors.As(err, &unknown):
		return "no authority that this computer trusts signed its certificate; nothing was sent to it. If it is your own, name its file: --share-cert FILE"
	case errors.As(err, &damage):
		return damage.Error()
	case errors.Is(err, errStalled):
		return errStalled.Error()
	}
	var timeout net.Error
	if errors.As(err, &timeout) && timeout.Timeout() {
		return "no answer in time"
	}
	for inner := errors.Unwrap(err); inner != nil; inner = errors.Unwrap(err) {
		err = inner
	}
	return oneLine(err.Error())
}

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }
