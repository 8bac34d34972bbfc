package receiver

import (
	"context"
	"errors"
	"io"
	"net"
	"os"
	"time"
)

// dialFor bounds the opening of a connection. Judgement; no test holds it closely.
const dialFor = 3 * time.Second

// A deadlineLink is what can wait with a deadline: a connection, a socket, a
// pipe.
type deadlineLink struct{ deadlineReader }

type deadlineReader interface {
	io.ReadCloser
	SetReadDeadline(time.Time) error
}

func (l deadlineLink) read(p []byte, until time.Time) (int, error) {
	if err := l.SetReadDeadline(until); err != nil {
		return 0, err
	}
	n, err := l.Read(p)
	if errors.Is(err, os.ErrDeadlineExceeded) && time.Since(until) > waitedTooLong {
		// A read that comes back late has not looked whether something is there.
		if err := l.SetReadDeadline(time.Now().Add(2 * waitedTooLong)); err != nil {
			return 0, err
		}
		n, err = l.Read(p)
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		err = nil
	}
	return n, err
}

// waitedTooLong is how long after its deadline a read comes back where this process was not
// given a processor in time. Judgement; no test holds it closely.
const waitedTooLong = 5 * time.Millisecond

// dialTCP connects, and sends what is to be said first.
func dialTCP(ctx context.Context, place, hello string) (link, error) {
	ctx, cancel := context.WithTimeout(ctx, dialFor)
	defer cancel()
	var d net.Dialer
	conn, err := d.DialContext(ctx, "tcp", place)
	if err != nil {
		return nil, err
	}
	if hello != "" {
		conn.SetWriteDeadline(time.Now().Add(dialFor))
		if _, err := conn.Write([]byte(hello)); err != nil {
			conn.Close()
			return nil, err
		}
	}
	return deadlineLink{conn}, nil
}

// listenUDP takes datagrams at a port of this machine, or of a group that it
// joins.
func listenUDP(ctx context.Context, place string) (link, error) {
	var resolver net.Resolver
	host, port, err := net.SplitHostPort(place)
	if err != nil {
		return nil, err
	}
	number, err := resolver.LookupPort(ctx, "udp", port)
	if err != nil {
		return nil, err
	}
	at := &net.UDPAddr{Port: number}
	if host != "" {
		ips, err := resolver.LookupIPAddr(ctx, host)
		if err != nil {
			return nil, err
		}
		at.IP, at.Zone = ips[0].IP, ips[0].Zone
	}
	listen := net.ListenUDP
	if at.IP.IsMulticast() {
		listen = func(network string, at *net.UDPAddr) (*net.UDPConn, error) {
			return net.ListenMulticastUDP(network, nil, at)
		}
	}
	conn, err := listen("udp", at)
	if err != nil {
		return nil, err
	}
	return deadlineLink{conn}, nil
}
