package printer

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"strconv"
)

// ErrAddress marks text that is no printer's address.
var ErrAddress = errors.New("a printer's address is ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT")

// Where a printer listens, if its address does not say.
const (
	ippPort = "631"        // RFC 8010; as quoted
	rawPort = "9100"       // common practice, no source
	ippPath = "/ipp/print" // the usual one of printers that need no driver; from memory, not seen
)

// An Address is where a printer is. The zero Address is nowhere.
type Address struct {
	scheme, host, path string // host with its port
}

// ParseAddress reads an address. ipp is IPP without encryption, ipps is IPP with
// TLS, tcp is a raw socket. A missing port or path is the usual one.
func ParseAddress(s string) (Address, error) {
	bad := func(why string) (Address, error) {
		return Address{}, fmt.Errorf("printer: %q: %s: %w", s, why, ErrAddress)
	}
	u, err := url.Parse(s)
	if err != nil {
		return bad("it cannot be read")
	}
	port := ippPort
	switch u.Scheme {
	case "ipp", "ipps":
	case "tcp":
		port = rawPort
	default:
		return bad("it begins with none of ipp, ipps, tcp")
	}
	switch {
	case u.Hostname() == "":
		return bad("it names no host")
	case u.User != nil:
		return bad("it holds a user, and there is no signing in")
	case u.RawQuery != "" || u.ForceQuery || u.Fragment != "":
		return bad("it goes on behind the path")
	case len(s) > maxURI:
		return bad(fmt.Sprintf("it has more than %d characters", maxURI))
	}
	if given := u.Port(); given != "" {
		if n, err := strconv.ParseUint(given, 10, 16); err != nil || n == 0 {
			return bad("its port is none")
		}
		port = given
	}
	a := Address{scheme: u.Scheme, host: net.JoinHostPort(u.Hostname(), port), path: u.EscapedPath()}
	switch {
	case a.Raw() && a.path != "" && a.path != "/":
		return bad("a raw socket has no path")
	case a.Raw():
		a.path = ""
	case a.path == "" || a.path == "/":
		a.path = ippPath
	}
	return a, nil
}

// maxURI is the most characters of a URI in IPP (RFC 8011; from memory, not
// seen).
const maxURI = 1023

// Raw reports whether it is a raw socket, behind which nobody answers.
func (a Address) Raw() bool { return a.scheme == "tcp" }

// TLS reports whether the printer shows a certificate.
func (a Address) TLS() bool { return a.scheme == "ipps" }

// String is the address in full.
func (a Address) String() string { return a.scheme + "://" + a.host + a.path }

// http is where its messages are posted.
func (a Address) http() string {
	scheme := "http"
	if a.TLS() {
		scheme = "https"
	}
	return scheme + "://" + a.host + a.path
}
